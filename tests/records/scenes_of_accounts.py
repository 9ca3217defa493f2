"""What six writers do at once with links and second factors; as tests/records/scenes.py."""

from gaiter.records.actions import accounts, factors, grants
from gaiter.records.ledger import Actor
from gaiter.records.models import Grant, RecoveryCode, Role, SecondFactor
from gaiter.records.totp import code_of
from tests.clinic import Clinic
from tests.records.scenes import Scene, rows, six, six_on

WORDS = "The telephone was lost."


def learner(c: Clinic) -> Actor:
    return c.actor(Role.LEARNER)


def link_for(c: Clinic, role: str) -> Grant:
    grants.issue_link(c.actor(Role.MANAGER), c.accounts[role])
    return Grant.objects.latest("pk")


def fitting(seed: str, actor: Actor) -> str:
    return code_of(seed, int(actor.now.timestamp()) // 30)


def with_factor(c: Clinic) -> str:
    """The seed of the learner's second factor."""
    factor = factors.start_factor(learner(c))
    seed = factor.seed
    factors.confirm_factor(learner(c), factor.pk, fitting(seed, learner(c)))
    return seed


def issue_link(c: Clinic) -> Scene:
    manager = c.actor(Role.MANAGER)
    calls = six_on(c.accounts[Role.LEARNER], lambda _n, one: grants.issue_link(manager, one))
    return Scene(calls, 6, "", rows(Grant, 1, ended_at=None, used_at=None))


def end_grant(c: Clinic) -> Scene:
    manager = c.actor(Role.MANAGER)
    calls = six_on(link_for(c, Role.LEARNER), lambda _n, one: grants.end_grant(manager, one))
    return Scene(calls, 1, "used or has ended", rows(Grant, 0, ended_at=None))


def use_link(c: Clinic) -> Scene:
    calls = six_on(
        link_for(c, Role.LEARNER),
        lambda n, one: grants.use_link(learner(c), one, f"a long new password {n}"),
    )
    return Scene(calls, 1, "used or has ended", rows(Grant, 1, used_at__isnull=False))


def approve_grant(c: Clinic) -> Scene:
    second = accounts.add_account(
        Actor(None, "test"), username="second", name="Second", initials="SE", role=Role.MANAGER
    )
    calls = six_on(
        link_for(c, Role.PRESCRIBER), lambda _n, one: grants.approve_grant(Actor(second), one)
    )
    return Scene(calls, 1, "waits for nobody", rows(Grant, 1, second=second))


def ask_removal(c: Clinic) -> Scene:
    with_factor(c)
    manager = c.actor(Role.MANAGER)
    calls = six_on(
        c.accounts[Role.LEARNER], lambda _n, one: grants.ask_removal(manager, one, WORDS)
    )
    return Scene(calls, 1, "second factor", rows(SecondFactor, 0, ended_at=None))


def note_read(c: Clinic) -> Scene:
    link = link_for(c, Role.LEARNER)
    return Scene(six(lambda _n: lambda: grants.note_read(learner(c), link.pk)), 6)


def note_sign_in(c: Clinic) -> Scene:
    link_for(c, Role.LEARNER)
    calls = six(lambda _n: lambda: accounts.note_sign_in(learner(c)))
    return Scene(calls, 6, "", rows(Grant, 0, ended_at=None))


def note_failed_sign_in(_c: Clinic) -> Scene:
    nobody = Actor(None, "127.0.0.1")
    return Scene(six(lambda _n: lambda: accounts.note_failed_sign_in(nobody, "learner")), 6)


def start_factor(c: Clinic) -> Scene:
    calls = six(lambda _n: lambda: factors.start_factor(learner(c)))
    return Scene(calls, 6, "", rows(SecondFactor, 1, ended_at=None))


def confirm_factor(c: Clinic) -> Scene:
    factor = factors.start_factor(learner(c))
    code = fitting(factor.seed, learner(c))
    calls = six(lambda _n: lambda: factors.confirm_factor(learner(c), factor.pk, code))
    return Scene(calls, 1, "", rows(RecoveryCode, factors.RECOVERY_CODES, ended_at=None))


def make_codes(c: Clinic) -> Scene:
    with_factor(c)
    calls = six(lambda _n: lambda: factors.make_codes(learner(c)))
    return Scene(calls, 6, "", rows(RecoveryCode, factors.RECOVERY_CODES, ended_at=None))


def give_code(c: Clinic) -> Scene:
    """One recovery code, given six times."""
    factor = factors.start_factor(learner(c))
    codes = factors.confirm_factor(learner(c), factor.pk, fitting(factor.seed, learner(c)))
    calls = six(lambda _n: lambda: factors.give_code(learner(c), codes[0]))
    return Scene(calls, 1, "", rows(RecoveryCode, 1, used_at__isnull=False))
