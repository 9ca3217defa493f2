"""Second factors of before are sealed; what their libraries kept in the clear goes."""

from base64 import b32encode
from datetime import UTC, datetime
from typing import Any

from django.db import migrations

from gaiter.records.sealing import seal

_OLD_FACTORS = "otp_totp_totpdevice"
# Tables of libraries that are no longer used: seeds, sessions' keys and typed names in the clear.
_GONE = (
    _OLD_FACTORS,
    "django_session",
    "axes_accessattemptexpiration",
    "axes_accessattempt",
    "axes_accesslog",
    "axes_accessfailurelog",
)


def seal_factors(_apps: Any, schema_editor: Any) -> None:
    connection = schema_editor.connection
    if _OLD_FACTORS not in connection.introspection.table_names():
        return
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT user_id, key, last_t FROM {_OLD_FACTORS} WHERE confirmed ORDER BY id"
        )
        # The newest of an account counts, as it did.
        newest = {account: (key, step) for account, key, step in cursor.fetchall()}
        now = connection.ops.adapt_datetimefield_value(datetime.now(UTC))
        for account, (key, step) in newest.items():
            seed = b32encode(bytes.fromhex(key)).decode().rstrip("=")
            # Sealed for its column, as every value was at this migration.
            cursor.execute(
                "INSERT INTO records_secondfactor "
                "(account_id, seed, made_at, confirmed_at, last_step) VALUES (%s, %s, %s, %s, %s)",
                [account, seal(seed, "secondfactor.seed"), now, now, max(step, 0)],
            )


def drop_leftovers(_apps: Any, schema_editor: Any) -> None:
    connection = schema_editor.connection
    there = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for table in _GONE:
            if table in there:
                cursor.execute(f"DROP TABLE {connection.ops.quote_name(table)}")
        # So that a clinic from before and a new one are the same version to a backup.
        cursor.execute(
            "DELETE FROM django_migrations WHERE app IN ('axes', 'otp_totp', 'sessions')"
        )


class Migration(migrations.Migration):
    """Factors and leftovers."""

    dependencies = [
        ("records", "0009_grants_and_second_factors"),
    ]

    operations = [
        migrations.RunPython(seal_factors, migrations.RunPython.noop),
        migrations.RunPython(drop_leftovers, migrations.RunPython.noop),
    ]
