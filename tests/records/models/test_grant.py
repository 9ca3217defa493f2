"""Grants, second factors and recovery codes at rest; what was kept in the clear before is gone."""

from base64 import b32decode
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.db import connection

from gaiter.records import migrations
from gaiter.records.clash import ClashError
from gaiter.records.models import Account, Grant, RecoveryCode, SecondFactor
from gaiter.records.sealing import unseal
from tests.records.models.rows import at_rest, made, sealed_at_rest

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
(_FILE,) = Path(migrations.__file__).parent.glob("*_second_factors_sealed.py")
MIGRATION = import_module(f"gaiter.records.migrations.{_FILE.stem}")
SEED = "3132333435363738393031323334353637383930"


def test_seeds_and_reasons_are_sealed() -> None:
    assert sealed_at_rest(SecondFactor) == {"seed"}
    assert sealed_at_rest(Grant) == {"words"}
    assert sealed_at_rest(RecoveryCode) == set()


def test_an_account_has_one_second_factor_in_use() -> None:
    account = made(Account)
    made(SecondFactor, account=account, confirmed_at=AT, ended_at=None)
    made(SecondFactor, account=account, confirmed_at=None, ended_at=None)
    made(SecondFactor, account=account, confirmed_at=AT, ended_at=AT)
    with pytest.raises(ClashError):
        made(SecondFactor, account=account, confirmed_at=AT, ended_at=None)


@pytest.fixture
def of_before(db):
    """Tables as the libraries of before made them, with a seed in the clear."""
    account = made(Account)
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TABLE otp_totp_totpdevice (id integer PRIMARY KEY, user_id bigint, "
            "key varchar(80), last_t bigint, confirmed boolean)"
        )
        rows = [(1, account.pk, "00" * 20, 5, True), (2, account.pk, SEED, 77, True),
                (3, account.pk, "ff" * 20, -1, False)]  # fmt: skip
        for row in rows:
            cursor.execute("INSERT INTO otp_totp_totpdevice VALUES (%s, %s, %s, %s, %s)", row)
        for table in ("django_session", "axes_accessattempt"):
            cursor.execute(f"CREATE TABLE {table} (id integer)")
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('axes', '0001', %s)", [AT]
        )
    return account


def test_a_seed_of_before_is_sealed_and_its_table_goes(of_before) -> None:
    editor = SimpleNamespace(connection=connection)
    MIGRATION.seal_factors(None, editor)
    MIGRATION.drop_leftovers(None, editor)
    factor = SecondFactor.objects.get()
    assert (factor.account, factor.last_step) == (of_before, 77)
    assert factor.confirmed_at == factor.made_at
    held = at_rest(factor)["seed"]
    seed = unseal(held, "secondfactor.seed")
    assert b32decode(seed).hex() == SEED
    assert seed not in held
    left = set(connection.introspection.table_names())
    assert left.isdisjoint({"otp_totp_totpdevice", "django_session", "axes_accessattempt"})
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM django_migrations WHERE app = 'axes'")
        assert cursor.fetchone() == (0,)


def test_a_clinic_without_those_tables_is_left_alone(db) -> None:
    editor = SimpleNamespace(connection=connection)
    before = set(connection.introspection.table_names())
    MIGRATION.seal_factors(None, editor)
    MIGRATION.drop_leftovers(None, editor)
    assert not SecondFactor.objects.exists()
    assert set(connection.introspection.table_names()) == before
