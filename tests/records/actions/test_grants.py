"""Links and removals: nobody becomes another alone, and nothing of it is hidden."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import add_account, change_account
from gaiter.records.actions.factors import codes_left, confirm_factor, factor_of, start_factor
from gaiter.records.actions.grants import (
    approve_grant,
    ask_removal,
    end_grant,
    grants_to_show,
    issue_link,
    last_grants,
    link_of,
    note_read,
    use_link,
    waiting_grants,
)
from gaiter.records.entrance.tries import Kind, TooManyTriesError
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import Account, AuditEntry, Grant, Role
from gaiter.records.totp import code_of
from tests.records.models.rows import at_rest

pytestmark = pytest.mark.django_db
SERVER = Actor(None, "command line")
NEW = "thimble orchard gravel"


def account_of(username: str, role: str) -> Account:
    return add_account(
        SERVER, username=username, name=username, initials="X", role=role, password="old" * 5
    )


@pytest.fixture
def alder() -> Actor:
    return Actor(account_of("alder", Role.MANAGER), "192.0.2.1")


@pytest.fixture
def birch() -> Actor:
    return Actor(account_of("birch", Role.MANAGER), "192.0.2.2")


@pytest.fixture
def mercer() -> Account:
    return account_of("mercer", Role.PRESCRIBER)


@pytest.fixture
def rowan() -> Account:
    return account_of("rowan", Role.BANDAGER)


def code_in(path: str) -> str:
    return path.partition("#")[2]


def opened(path: str, account: Account, password: str = NEW, code: str = "") -> Account:
    user = Actor(account, "192.0.2.9")
    link = link_of(code_in(path), user)
    assert link is not None
    return use_link(user, link, password, code)


def with_factor(account: Account) -> tuple[str, list[str]]:
    """Seed and recovery codes of a factor that counts since five minutes ago."""
    before = Actor(account, "", Actor(None).now - timedelta(minutes=5))
    factor = start_factor(before)
    seed = factor.seed
    codes = confirm_factor(before, factor.pk, code_of(seed, int(before.now.timestamp()) // 30))
    return seed, codes


def code_now(seed: str) -> str:
    return code_of(seed, int(Actor(None).now.timestamp()) // 30)


def test_a_bandagers_link_opens_once_and_says_who_made_it(alder, rowan) -> None:
    link = issue_link(alder, rowan)
    assert (link.waits, link.asks_code) == (False, False)
    assert opened(link.path, rowan).check_password(NEW)
    assert link_of(code_in(link.path), alder) is None
    issued = AuditEntry.objects.get(verb="issue one-time link")
    assert (issued.who, issued.subject) == ("alder", f"account:{rowan.pk}")
    assert '"issued_by": "alder"' in AuditEntry.objects.get(verb="use one-time link").changes


def test_a_link_stands_nowhere_in_the_clear(alder, rowan) -> None:
    code = code_in(issue_link(alder, rowan).path)
    held = repr(at_rest(Grant.objects.get()))
    assert code not in held + "".join(AuditEntry.objects.values_list("changes", flat=True))


@pytest.mark.parametrize("role", [Role.PRESCRIBER, Role.MANAGER])
def test_one_manager_alone_opens_no_account_that_approves_or_manages(alder, birch, role) -> None:
    """A manager made another's link and approved as that prescriber."""
    victim = account_of("victim", role)
    link = issue_link(alder, victim)
    assert link.waits
    with pytest.raises(InputError, match="until a second manager approves"):
        opened(link.path, victim)
    grant = Grant.objects.get()
    for who in (alder, Actor(victim, "")):
        with pytest.raises(NotAllowedError):
            approve_grant(who, grant)
    approve_grant(birch, grant)
    assert opened(link.path, victim).check_password(NEW)
    grant.refresh_from_db()
    assert (grant.by, grant.second) == (alder.account, birch.account)


@pytest.mark.parametrize("role", [Role.PRESCRIBER, Role.BANDAGER, Role.LEARNER])
def test_only_managers_grant_anything(birch, rowan, role) -> None:
    who = Actor(account_of("who", role), "")
    grant = issue_link(birch, rowan) and Grant.objects.get()
    for deed in (
        lambda: issue_link(who, rowan), lambda: ask_removal(who, rowan, "lost"),
        lambda: approve_grant(who, grant), lambda: end_grant(who, grant),
    ):  # fmt: skip
        with pytest.raises(NotAllowedError):
            deed()


def test_a_manager_who_may_not_sign_in_grants_nothing(alder, birch, rowan) -> None:
    change_account(birch, alder.account, is_active=False)
    with pytest.raises(NotAllowedError):
        issue_link(alder, rowan)


def test_a_newer_link_ends_the_older(alder, rowan) -> None:
    old, new = issue_link(alder, rowan), issue_link(alder, rowan)
    assert link_of(code_in(old.path), alder) is None
    opened(new.path, rowan)


def test_a_link_lasts_three_days(alder, rowan) -> None:
    code = code_in(issue_link(alder, rowan).path)
    for hours, counts in ((71, True), (73, False)):
        later = Actor(None, "", alder.now + timedelta(hours=hours))
        assert (link_of(code, later) is not None) is counts


def test_a_link_of_an_account_that_may_not_sign_in_is_neither_made_nor_opened(alder, rowan) -> None:
    code = code_in(issue_link(alder, rowan).path)
    change_account(SERVER, rowan, is_active=False)
    assert link_of(code, alder) is None
    with pytest.raises(InputError, match="may not sign in"):
        issue_link(alder, rowan)
    change_account(SERVER, rowan, is_active=True)
    assert link_of(code, alder) is None


def test_two_who_open_one_link_at_once_open_it_once(alder, rowan) -> None:
    path = issue_link(alder, rowan).path
    first = link_of(code_in(path), alder)
    opened(path, rowan)
    with pytest.raises(InputError, match="was used or has ended"):
        use_link(Actor(rowan, ""), first, "another long password")
    assert Account.objects.get(pk=rowan.pk).check_password(NEW)


def test_a_prescribers_own_second_factor_stands_in_for_a_second_manager(alder, mercer) -> None:
    seed, codes = with_factor(mercer)
    link = issue_link(alder, mercer)
    assert (link.waits, link.asks_code) == (False, True)
    for wrong in ("", "000000" if code_now(seed) != "000000" else "111111"):
        with pytest.raises(InputError, match="neither the code"):
            opened(link.path, mercer, code=wrong)
    assert opened(link.path, mercer, code=code_now(seed)).check_password(NEW)
    assert opened(issue_link(alder, mercer).path, mercer, code=codes[0]).check_password(NEW)


def test_whoever_holds_a_link_does_not_guess_the_code(alder, mercer) -> None:
    seed, _codes = with_factor(mercer)
    link = issue_link(alder, mercer)
    for _ in range(Kind.FACTOR.value):
        with pytest.raises(InputError):
            opened(link.path, mercer, code="nothing")
    with pytest.raises(TooManyTriesError):
        opened(link.path, mercer, code=code_now(seed))


def test_a_link_that_leant_on_a_factor_ends_when_the_factor_is_removed(
    alder, birch, mercer
) -> None:
    with_factor(mercer)
    link = issue_link(alder, mercer)
    approve_grant(birch, ask_removal(alder, mercer, "telephone lost, rang from home"))
    assert link_of(code_in(link.path), alder) is None


def test_a_bandagers_lost_factor_is_removed_by_a_manager_and_shown(alder, rowan) -> None:
    with_factor(rowan)
    era = Account.objects.get(pk=rowan.pk).era
    ask_removal(alder, rowan, "telephone lost, rang from home")
    rowan.refresh_from_db()
    assert (factor_of(rowan), codes_left(rowan)) == (None, 0)
    assert rowan.era > era
    (shown,) = grants_to_show(rowan)
    assert (shown.kind, shown.by, shown.words) == (
        Grant.Kind.REMOVAL, alder.account, "telephone lost, rang from home",
    )  # fmt: skip


def test_a_prescribers_lost_factor_is_removed_by_two(alder, birch, mercer) -> None:
    with_factor(mercer)
    grant = ask_removal(alder, mercer, "telephone lost, rang from home")
    assert factor_of(mercer) is not None
    assert waiting_grants(birch) == [grant]
    with pytest.raises(NotAllowedError):
        approve_grant(alder, grant)
    approve_grant(birch, grant)
    assert factor_of(mercer) is None
    assert waiting_grants(birch) == []
    with pytest.raises(InputError, match="waits for nobody"):
        approve_grant(birch, grant)


def test_what_cannot_be_removed_is_refused_in_words(alder, birch, rowan) -> None:
    with pytest.raises(InputError, match="no second factor"):
        ask_removal(alder, rowan, "lost")
    with_factor(rowan)
    with pytest.raises(InputError, match="3 to 500"):
        ask_removal(alder, rowan, " x ")
    with_factor(alder.account)
    with pytest.raises(InputError, match="another manager"):
        ask_removal(alder, alder.account, "lost")


def test_what_was_asked_for_is_taken_back_and_too_old_is_over(alder, birch, mercer) -> None:
    grant = issue_link(alder, mercer) and Grant.objects.get()
    late = Actor(birch.account, "", birch.now + timedelta(days=4))
    assert waiting_grants(late) == []
    with pytest.raises(InputError, match="waits for nobody"):
        approve_grant(late, grant)
    end_grant(birch, grant)
    with pytest.raises(InputError, match="waits for nobody"):
        approve_grant(birch, grant)
    with pytest.raises(InputError, match="has ended already"):
        end_grant(birch, grant)


def test_the_command_line_grants_at_once_and_is_shown_too(mercer) -> None:
    link = issue_link(SERVER, mercer)
    assert not link.waits
    opened(link.path, mercer)
    (shown,) = grants_to_show(mercer)
    assert (shown.by, shown.used_from) == (None, "192.0.2.9")


def test_what_was_read_is_not_shown_again_but_stays(alder, rowan) -> None:
    issue_link(alder, rowan)
    (first,) = grants_to_show(rowan)
    issue_link(alder, rowan)
    note_read(Actor(rowan, ""), first.pk)
    assert [one.pk for one in grants_to_show(rowan)] == [first.pk + 1]
    assert len(last_grants(rowan)) == 2
