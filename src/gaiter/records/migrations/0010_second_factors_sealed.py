"""Second factors of before are sealed; what their libraries kept in the clear goes."""

from base64 import b32encode
from datetime import UTC, datetime
from typing import Any

from django.db import migrations

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


def seal_factors(apps: Any, schema_editor: Any) -> None:
    connection = schema_editor.connection
    if _OLD_FACTORS not in connection.introspection.table_names():
        return
    factor = apps.get_model("records", "SecondFactor")
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT user_id, key, last_t FROM {_OLD_FACTORS} WHERE confirmed ORDER BY id"
        )
        # The newest of an account counts, as it did.
        newest = {account: (key, step) for account, key, step in cursor.fetchall()}
    now = datetime.now(UTC)
    for number, (account, (key, step)) in enumerate(newest.items(), start=1):
        factor.objects.create(
            id=number,
            account_id=account,
            seed=b32encode(bytes.fromhex(key)).decode().rstrip("="),
            made_at=now,
            confirmed_at=now,
            last_step=max(step, 0),
        )
    if newest and connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT setval(pg_get_serial_sequence('records_secondfactor', 'id'), %s)",
                [len(newest)],
            )


def drop_leftovers(apps: Any, schema_editor: Any) -> None:
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
