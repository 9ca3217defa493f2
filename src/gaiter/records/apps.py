"""Django's description of the record."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class RecordsConfig(AppConfig):
    """The record."""

    name = "gaiter.records"
    label = "records"
    verbose_name = "Record"

    def ready(self) -> None:
        """What the database itself refuses follows the models, whatever a migration does."""
        from gaiter.records.append_only import (  # noqa: PLC0415 # it asks for the models
            guard_when_migrated,
            rest_while_migrating,
        )

        pre_migrate.connect(rest_while_migrating, sender=self)
        post_migrate.connect(guard_when_migrated, sender=self)
