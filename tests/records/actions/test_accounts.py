"""Accounts: made once, refused in words, and the last manager stays one."""

import pytest
from django.contrib.auth.tokens import default_token_generator

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import (
    add_account,
    change_account,
    one_time_link,
    set_password,
)
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


def test_a_one_time_link_dies_with_the_password_it_sets() -> None:
    account = add()
    token = one_time_link(account).rstrip("/").rsplit("/", 1)[-1]
    assert f"/{account.pk}/" in one_time_link(account)
    assert default_token_generator.check_token(account, token)
    set_password(NOBODY, account, "correct horse battery")
    assert not default_token_generator.check_token(account, token)


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
