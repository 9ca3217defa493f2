"""Second factors: set up, shown, used, and recovery codes."""

import secrets
from collections.abc import Mapping
from datetime import timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db.models import QuerySet
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.entrance.sessions import end_sessions
from gaiter.records.entrance.tries import Kind, count_try, forget
from gaiter.records.ledger import Action, Actor, action
from gaiter.records.models import Account, RecoveryCode, SecondFactor
from gaiter.records.sealing import blind_index
from gaiter.records.totp import new_seed, step_of

RECOVERY_CODES = 10
_HALF = 5
_SHOWN_FOR = timedelta(minutes=15)
# Letters and digits that nobody takes for one another; ten of them are 50 bits.
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"


def factor_of(account: Account) -> SecondFactor | None:
    """The second factor in use; None where there is none."""
    held = SecondFactor.objects.filter(account=account, ended_at=None)
    return held.exclude(confirmed_at=None).first()


def codes_left(account: Account) -> int:
    """Recovery codes that were not used."""
    return _codes(account).count()


def _codes(account: Account) -> QuerySet[RecoveryCode]:
    return RecoveryCode.objects.filter(account=account, used_at=None, ended_at=None)


def start_factor(actor: Actor) -> SecondFactor:
    """A new seed that counts once a code of it was typed; one that was started before ends."""
    account = actor.account
    with action(actor, "start second factor", account) as act:
        _end_started(act, account)
        return act.create(SecondFactor, account=account, seed=new_seed(), made_at=act.at)


def _end_started(act: Action, account: Account) -> None:
    for factor in SecondFactor.objects.filter(account=account, ended_at=None, confirmed_at=None):
        act.change(factor, ended_at=act.at, seed="")


def started_factor(actor: Actor, pk: int | None) -> SecondFactor | None:
    """A seed that this account was shown a moment ago and has not confirmed."""
    if pk is None:
        return None
    open_ones = SecondFactor.objects.filter(account=actor.account, ended_at=None, confirmed_at=None)
    return open_ones.filter(pk=pk, made_at__gte=actor.now - _SHOWN_FOR).first()


def confirm_factor(actor: Actor, pk: int, code: str) -> list[str]:
    """The recovery codes of a second factor that counts from now on, by its first code.

    Every session of the account ends: whoever confirms signs in anew in this one.

    Raises
    ------
    InputError
        If the code is wrong, or the factor was started anew elsewhere.
    TooManyTriesError
        After too many wrong codes.
    """
    count_try(Kind.FACTOR, str(actor.account.pk))
    made = _made(actor.account)
    with action(actor, "set up second factor", actor.account) as act:
        account = Account.objects.select_for_update().get(pk=actor.account.pk)
        factor = started_factor(actor, pk)
        if factor is None:
            raise InputError(_("This was started anew elsewhere: begin again."))
        step = step_of(factor.seed, code, actor.now.timestamp(), 0)
        if step is None:
            raise InputError(_("That code does not fit: scan again and type the six digits shown."))
        drop_factor(act, account, keep=factor)
        act.change(factor, confirmed_at=act.at, last_step=step)
        _keep(act, account, made)
    forget(Kind.FACTOR, str(actor.account.pk))
    actor.account.refresh_from_db()
    return list(made)


def drop_factor(act: Action, account: Account, keep: SecondFactor | None = None) -> None:
    """Ends factors and recovery codes, and with them every session that they opened."""
    factors = SecondFactor.objects.filter(account=account, ended_at=None)
    for factor in factors:
        if keep is None or factor.pk != keep.pk:
            act.change(factor, ended_at=act.at, seed="")
    _end_codes(act, account)
    act.change(account, era=account.era + 1)
    end_sessions(account.pk)


def _end_codes(act: Action, account: Account) -> None:
    for code in _codes(account):
        act.change(code, ended_at=act.at)


def _made(account: Account) -> dict[str, str]:
    """New codes as they are shown, and as they are kept.

    Ten slow hashes: made before the action, in which nobody else can write.
    """
    made = {}
    for _number in range(RECOVERY_CODES):
        text = "".join(secrets.choice(_LETTERS) for _letter in range(2 * _HALF))
        kept = make_password(_fingerprint(account, text))
        made[f"{text[:_HALF]}-{text[_HALF:]}"] = kept
    return made


def _keep(act: Action, account: Account, made: Mapping[str, str]) -> None:
    _end_codes(act, account)
    for kept in made.values():
        act.create(RecoveryCode, account=account, fingerprint=kept, made_at=act.at)


def _fingerprint(account: Account, code: str) -> str:
    return blind_index(code, f"recovery.{account.pk}")


def recovery_code_of(account: Account, typed: str) -> RecoveryCode | None:
    """The unused recovery code that was typed; found before an action, as hashes are slow."""
    # Six digits are no recovery code, and cost no hash.
    if sum(map(str.isalnum, typed)) != 2 * _HALF:
        return None
    fingerprint = _fingerprint(account, typed)
    return next((code for code in _codes(account) if _fits(fingerprint, code.fingerprint)), None)


def _fits(fingerprint: str, kept: str) -> bool:
    if "$" in kept:
        return check_password(fingerprint, kept)
    # Of a version that kept the fingerprint alone: good until new ones are made.
    return constant_time_compare(fingerprint, kept)


def make_codes(actor: Actor) -> list[str]:
    """New recovery codes, to be shown once; the old ones end.

    Raises
    ------
    InputError
        If there is no second factor.
    """
    made = _made(actor.account)
    with action(actor, "make recovery codes", actor.account) as act:
        account = Account.objects.select_for_update().get(pk=actor.account.pk)
        if factor_of(account) is None:
            raise InputError(_("Recovery codes stand in for a second factor: set one up first."))
        _keep(act, account, made)
    return list(made)


def give_code(actor: Actor, typed: str) -> int | None:
    """Uses a code of the half minute or a recovery code; of the latter, how many are left.

    Raises
    ------
    InputError
        If the code is neither.
    TooManyTriesError
        After too many wrong codes.
    """
    whose = str(actor.account.pk)
    count_try(Kind.FACTOR, whose)
    recovery = recovery_code_of(actor.account, typed)
    with action(actor, "give second factor", actor.account) as act:
        account = Account.objects.select_for_update().get(pk=actor.account.pk)
        left = use_code(act, account, typed, recovery)
    forget(Kind.FACTOR, whose)
    return left


def use_code(
    act: Action, account: Account, typed: str, recovery: RecoveryCode | None
) -> int | None:
    """Uses a code inside an action; of recovery codes, how many are left.

    Parameters
    ----------
    act : Action
        What it is used in.
    account : Account
        Whose it is.
    typed : str
        As it was typed.
    recovery : RecoveryCode or None
        The recovery code that this is, as :func:`recovery_code_of` found it.

    Raises
    ------
    InputError
        If there is no second factor, or the code is neither.
    """
    factor, typed = factor_of(account), "".join(typed.split())
    if factor is None:
        raise InputError(_("This account has no second factor."))
    step = step_of(factor.seed, typed, act.at.timestamp(), factor.last_step)
    if step is not None:
        act.change(factor, last_step=step)
        return None
    code = _codes(account).filter(pk=recovery.pk).first() if recovery else None
    if code is None:
        raise InputError(
            _(
                "That is neither the code of this half minute nor a recovery code: wait for the "
                "next six digits, or type a recovery code that was not used."
            )
        )
    act.change(code, used_at=act.at)
    return codes_left(account)
