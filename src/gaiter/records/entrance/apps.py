"""Django's description of the entrance."""

from django.apps import AppConfig


class EntranceConfig(AppConfig):
    """Sessions and tries; no backup holds them."""

    name = "gaiter.records.entrance"
    label = "entrance"
    default_auto_field = "django.db.models.BigAutoField"
