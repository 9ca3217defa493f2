"""Django's description of the frame."""

from django.apps import AppConfig


class FrameConfig(AppConfig):
    """The frame: templates, static files, words."""

    name = "gaiter.web.frame"
    label = "gaiter_frame"
