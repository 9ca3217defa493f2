"""A database is opened with the keys under which it was sealed, or not at all."""

import pytest
from django.db import connection

from gaiter.operations.rotate import reseal_rows
from gaiter.records.append_only import lifted
from gaiter.records.keys import (
    KeysMissingError,
    check_value,
    holds_rows,
    key_states,
    note_keys,
    require_keys,
)
from gaiter.records.models import AuditEntry, Mark, Note, StockItem, StoredFile
from gaiter.records.sealing import SealError, plain_name
from tests.records.models.rows import SECRET, changed, made

pytestmark = pytest.mark.django_db
FIRST, SECOND = bytes(range(32)), bytes(range(1, 33))
INDEX = bytes(range(2, 34))


def ring(current="1", index=INDEX, **keys: bytes):
    return {"keys": keys, "current": current, "index": index}


OWN = ring(k1=FIRST, current="k1")


@pytest.fixture
def sealed(settings):
    """A note, a file and a change of the note, under one key; two people hang on them."""
    settings.GAITER_KEY_RING = OWN
    note = made(Note)
    made(StoredFile)
    with lifted():
        changed(note, words=SECRET)
    return note


def states() -> dict[str, tuple[bool, int]]:
    return {state.name: (state.held, state.values) for state in key_states()}


def test_an_empty_database_needs_no_keys(settings) -> None:
    settings.GAITER_KEY_RING = None
    assert not holds_rows()
    require_keys()
    note_keys()
    assert not Mark.objects.exists()


def test_check_values_are_left_once_and_audited(sealed) -> None:
    note_keys()
    assert {(mark.name, mark.value) for mark in Mark.objects.all()} == {
        ("key.k1", check_value(FIRST)), ("index", check_value(INDEX)),
    }  # fmt: skip
    entries = AuditEntry.objects.count()
    note_keys()
    assert AuditEntry.objects.count() == entries
    require_keys()


def test_a_check_value_tells_nothing_of_the_key() -> None:
    assert check_value(FIRST) != check_value(SECOND)
    assert FIRST.hex() not in check_value(FIRST)
    assert len(check_value(FIRST)) == 64


# A ring, and the key that is missing from it.
OTHERS = [
    pytest.param(ring(other=SECOND, current="other"), "k1", id="another name"),
    pytest.param(ring(k1=SECOND, current="k1"), "k1", id="another key of that name"),
]


@pytest.mark.parametrize("noted", [True, False], ids=["checked", "from before check values"])
@pytest.mark.parametrize(("held", "missing"), OTHERS)
def test_other_keys_are_refused_by_name(sealed, settings, noted, held, missing) -> None:
    if noted:
        note_keys()
    settings.GAITER_KEY_RING = held
    with pytest.raises(
        KeysMissingError, match=rf"sealed under the key {missing}, which .*GAITER_DA"
    ):
        require_keys()
    assert states()["k1"][0] is False


@pytest.mark.parametrize("noted", [True, False])
def test_no_keys_at_all_are_refused(sealed, settings, noted) -> None:
    if noted:
        note_keys()
    settings.GAITER_KEY_RING = None
    with pytest.raises(KeysMissingError, match="put the clinic's own key file there"):
        require_keys()


def test_an_account_alone_needs_its_keys_as_well(settings) -> None:
    """Nothing is sealed yet; the next thing would be, under a key that nobody chose."""
    made(StockItem)
    assert holds_rows()
    settings.GAITER_KEY_RING = None
    with pytest.raises(KeysMissingError):
        require_keys()


def test_another_index_key_is_noticed(sealed, settings) -> None:
    note_keys()
    settings.GAITER_KEY_RING = {**OWN, "index": FIRST}
    with pytest.raises(KeysMissingError, match="the key index") as refused:
        require_keys()
    assert refused.value.names == ("index",)


def test_a_new_key_beside_the_old_ones_is_welcome_and_the_old_one_missed(sealed, settings) -> None:
    note_keys()
    settings.GAITER_KEY_RING = ring(k1=FIRST, k2=SECOND, current="k2")
    require_keys()
    reseal_rows()
    note_keys()
    settings.GAITER_KEY_RING = ring(k2=SECOND, current="k2")
    with pytest.raises(KeysMissingError, match="the key k1"):
        require_keys()


def test_values_are_counted_where_they_lie(sealed, settings) -> None:
    """Columns of the rows, and what the audit log keeps of each of them."""
    columns = sum(count for _held, count in states().values())
    with connection.cursor() as cursor:
        cursor.execute("SELECT changes FROM records_auditentry")
        in_audit = sum(changes.count('"sealed"') for (changes,) in cursor.fetchall())
    notes, files, people = 1, 1, 2
    of_person = 4  # name, birth date, number, telephone
    assert columns == notes + 2 * files + people * of_person + in_audit
    assert states() == {"k1": (True, columns)}
    settings.GAITER_KEY_RING = ring(k1=FIRST, k2=SECOND, current="k2")
    reseal_rows()
    assert states() == {"k1": (True, in_audit), "k2": (True, columns - in_audit)}


def test_a_ring_that_was_lost_and_made_anew_is_merged_with_the_old_one(sealed, settings) -> None:
    """Both call their key k1, as every ring called its first one 1 before names were random."""
    settings.GAITER_KEY_RING = ring(k1=SECOND, current="k1")
    later = made(Note)
    with pytest.raises(SealError, match="was changed or moved"):
        sealed.refresh_from_db()
    settings.GAITER_KEY_RING = {**OWN, "keys": {"k1": SECOND, "k1~ab12": FIRST}}
    for note in (sealed, later):
        note.refresh_from_db()
        assert note.words == SECRET
    require_keys()
    note_keys()
    require_keys()
    assert plain_name("k1~ab12") == "k1"
    settings.GAITER_KEY_RING = ring(k1=SECOND, current="k1")
    with pytest.raises(KeysMissingError, match="the key k1~ab12"):
        require_keys()


def test_a_key_dropped_before_there_were_check_values_stops_no_clinic(sealed, settings) -> None:
    """Every row was sealed anew; what the audit log keeps under the old key stays closed."""
    settings.GAITER_KEY_RING = ring(k1=FIRST, k2=SECOND, current="k2")
    reseal_rows()
    settings.GAITER_KEY_RING = ring(k2=SECOND, current="k2")
    require_keys()
    assert states()["k1"][0] is False
    note_keys()
    require_keys()
