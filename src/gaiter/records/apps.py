"""Django's description of the record."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """The record."""

    name = "gaiter.records"
    label = "records"
    verbose_name = "Record"
