"""Accounts: made once, refused in words, and the last manager stays one."""

import pytest
from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import (
    add_account,
    change_account,
    note_failed_sign_in,
    note_sign_in,
    set_password,
)
from gaiter.records.actions.grants import issue_link, open_grants
from gaiter.records.entrance.sessions import SessionStore
from gaiter.records.ledger import Actor, AlreadyDoneError
from gaiter.records.models import Account, AuditEntry, Role

pytestmark = pytest.mark.django_db
NOBODY = Actor(None, "test")


def add(**changes):
    given = {
        "username": "rowan", "name": "Tam Rowan", "initials": "TR", "role": Role.BANDAGER,
        **changes,
    }  # fmt: skip
    return add_account(NOBODY, **given)


def test_an_account_is_kept_trimmed_and_its_making_is_noted() -> None:
    made = add(username=" Rowan ", name=" Tam Rowan ", initials=" TR ")
    again = Account.objects.get()
    assert (again.username, again.name, again.initials) == ("rowan", "Tam Rowan", "TR")
    assert (again.role, again.training, again.demo) == (Role.BANDAGER, "trained", False)
    entry = AuditEntry.objects.get()
    assert (entry.verb, entry.subject) == ("add account", f"account:{made.pk}")
    assert '"username": "rowan"' in entry.changes


def test_without_a_password_nobody_can_sign_in_with_it() -> None:
    assert not add().has_usable_password()
    made = add(username="sedge", password="correct horse battery")
    assert made.check_password("correct horse battery")
    assert "horse" not in "".join(AuditEntry.objects.values_list("changes", flat=True))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"username": "r"}, "2 to 40 small letters"),
        ({"username": "a" * 41}, "2 to 40 small letters"),
        ({"username": "tam rowan"}, "received 'tam rowan'"),
        ({"role": "surgeon"}, "Role must be one of .*received 'surgeon'"),
        ({"training": "a lot"}, "Training must be one of .*received 'a lot'"),
        ({"name": " "}, "name of 1 to 80"),
        ({"name": "n" * 81}, "name of 1 to 80"),
        ({"initials": " "}, "initials of 1 to 8"),
        ({"initials": "ABCDEFGHI"}, "initials of 1 to 8"),
    ],
)
def test_what_cannot_be_an_account_is_refused(changes, words) -> None:
    with pytest.raises(InputError, match=words):
        add(**changes)
    assert not Account.objects.exists()


def test_the_edges_of_what_is_allowed_are_allowed() -> None:
    add(username="ab", name="n" * 80, initials="ABCDEFGH")
    add(username="a" * 40, initials="A")
    assert Account.objects.count() == 2


def test_a_name_is_taken_whatever_its_letters() -> None:
    add()
    with pytest.raises(InputError, match="rowan is taken"):
        add(username="ROWAN")


def test_a_form_sent_twice_makes_one_account() -> None:
    add(once="form")
    with pytest.raises(AlreadyDoneError):
        add(username="another", once="form")
    assert Account.objects.count() == 1


def test_a_new_password_counts_and_is_noted_without_itself() -> None:
    account = add(password="correct horse battery")
    set_password(NOBODY, account, "another long password")
    again = Account.objects.get()
    assert again.check_password("another long password")
    assert not again.check_password("correct horse battery")
    entry = AuditEntry.objects.latest("number")
    assert entry.verb == "set password"
    assert '"password": {"keyed": ' in entry.changes
    assert again.password not in entry.changes


def signed_in(account: Account) -> str:
    """Key of a browser in which the account is signed in."""
    store = SessionStore()
    store[SESSION_KEY] = str(account.pk)
    store[HASH_SESSION_KEY] = account.get_session_auth_hash()
    store.save()
    return str(store.session_key)


@pytest.mark.parametrize("what", ["password", "role", "is_active"])
def test_sessions_end_for_good_with_password_role_and_deactivation(what) -> None:
    """A session of a deactivated account was alive again when it was let in again."""
    account = add(password="correct horse battery")
    key, hash_then = signed_in(account), account.get_session_auth_hash()
    if what == "password":
        set_password(NOBODY, account, "another long password")
    else:
        values = {"role": (Role.LEARNER, Role.BANDAGER), "is_active": (False, True)}[what]
        for value in values:
            change_account(NOBODY, account, **{what: value})
    assert not SessionStore().exists(key)
    # Nor does one that a sign-in made at the same moment, after the others had ended.
    assert Account.objects.get().get_session_auth_hash() != hash_then


def test_a_session_outlives_what_is_no_matter_of_signing_in() -> None:
    account = add(password="correct horse battery")
    key, hash_then = signed_in(account), account.get_session_auth_hash()
    change_account(NOBODY, account, name="New Name", role=account.role, is_active=True)
    assert SessionStore().exists(key)
    assert Account.objects.get().get_session_auth_hash() == hash_then


@pytest.mark.parametrize("role", [Role.PRESCRIBER, Role.MANAGER])
def test_whoever_is_raised_by_a_manager_chooses_a_new_password(role) -> None:
    """One manager could make a bandager, take the link, and make a prescriber of it."""
    manager = Actor(add(username="manager", role=Role.MANAGER), "test")
    account = add(password="correct horse battery")
    change_account(manager, account, role=role)
    assert not Account.objects.get(pk=account.pk).has_usable_password()


def test_whoever_is_made_a_learner_keeps_the_password() -> None:
    manager = Actor(add(username="manager", role=Role.MANAGER), "test")
    account = add(password="correct horse battery")
    change_account(manager, account, role=Role.LEARNER)
    assert Account.objects.get(pk=account.pk).check_password("correct horse battery")


def test_a_sign_in_and_a_password_end_the_links_that_were_made() -> None:
    account = add(password="correct horse battery")
    for deed in (
        lambda: note_sign_in(Actor(account, "")),
        lambda: set_password(NOBODY, account, "another long password"),
        lambda: change_account(NOBODY, account, role=Role.LEARNER),
    ):
        issue_link(NOBODY, account)
        deed()
        assert not open_grants().exists()


def test_a_failed_sign_in_is_noted_with_the_name_of_an_account_only() -> None:
    account = add()
    note_failed_sign_in(Actor(None, "192.0.2.1"), "rowan")
    note_failed_sign_in(Actor(None, "192.0.2.1"), "my password in the wrong box")
    known, unknown = AuditEntry.objects.filter(verb="failed sign in").order_by("number")
    assert (known.subject, known.where) == (f"account:{account.pk}", "192.0.2.1")
    assert '"account": "rowan"' in known.changes
    assert "wrong box" not in unknown.changes + unknown.subject + unknown.who


@pytest.mark.parametrize("fields", [{"role": Role.BANDAGER}, {"is_active": False}])
def test_the_last_manager_stays_one(fields) -> None:
    last = add(role=Role.MANAGER)
    with pytest.raises(InputError, match="last manager"):
        change_account(NOBODY, last, **fields)
    # One who may not sign in is no other manager.
    asleep = add(username="asleep", role=Role.MANAGER)
    change_account(NOBODY, asleep, is_active=False)
    with pytest.raises(InputError, match="last manager"):
        change_account(NOBODY, last, **fields)
    add(username="second", role=Role.MANAGER)
    change_account(NOBODY, last, **fields)
    again = Account.objects.get(pk=last.pk)
    assert {name: getattr(again, name) for name in fields} == fields


def test_a_manager_may_change_what_keeps_the_role() -> None:
    last = add(role=Role.MANAGER)
    change_account(NOBODY, last, name="New Name", unit="in")
    assert (last.name, Account.objects.get().unit) == ("New Name", "in")
