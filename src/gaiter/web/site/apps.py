"""Django's description of the frame."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """The frame: templates, static files, words."""

    name = "gaiter.web.site"
    label = "gaiter_site"
