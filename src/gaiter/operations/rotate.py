"""Key rotation: every sealed row under the current key."""

from django.apps import apps

from gaiter.records.append_only import lifted
from gaiter.records.ledger import Actor, action
from gaiter.records.sealing import sealed_fields


def reseal_rows() -> int:
    """Seals every sealed value anew; number of rows.

    The values stay the same, so the audit log notes the rotation once and not every row.
    """
    count = 0
    rotating = action(Actor(None, "command line"), "reseal under the current key", "keys")
    with rotating as act, lifted():
        for model in apps.get_app_config("records").get_models():
            names = [field.name for field in sealed_fields(model)]
            if not names:
                continue
            for row in model._default_manager.iterator(chunk_size=50):
                for name in names:
                    # What was opened is sealed anew when it is saved.
                    getattr(row, name)
                row.save(update_fields=names)
                count += 1
        act.note(rows=count)
    return count
