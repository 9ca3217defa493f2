"""Accounts."""

import re
from collections.abc import Mapping
from typing import Any

from django.contrib.auth.hashers import make_password
from django.utils.translation import gettext as _

from gaiter.core.case import Training
from gaiter.core.errors import InputError
from gaiter.records.actions.factors import drop_factor
from gaiter.records.actions.grants import GUARDED, end_links
from gaiter.records.entrance.sessions import end_sessions
from gaiter.records.ledger import Actor, action
from gaiter.records.models import Account, Role


def add_account(
    actor: Actor, *, username: str, name: str, initials: str, role: str, demo: bool = False,
    training: str = Training.TRAINED, password: str | None = None, once: str | None = None,
) -> Account:  # fmt: skip
    """A new account; without a password it waits for its one-time link."""
    username = username.strip().lower()
    if not re.fullmatch(r"[a-z0-9._-]{2,40}", username):
        raise InputError(
            _(
                "User name must be 2 to 40 small letters, digits, dots or dashes; "
                "received {username!r}: correct it."
            ).format(username=username[:60])
        )
    if role not in Role.values:
        raise InputError(
            _("Role must be one of {values}; received {role!r}.").format(
                values=", ".join(Role.values), role=role
            )
        )
    if training not in list(Training):
        raise InputError(
            _("Training must be one of {allowed}; received {training!r}.").format(
                allowed=", ".join(Training), training=training
            )
        )
    if not name.strip() or len(name) > 80 or not 1 <= len(initials.strip()) <= 8:
        raise InputError(_("Give a name of 1 to 80 characters and initials of 1 to 8."))
    with action(actor, "add account", once=once) as act:
        if Account.objects.filter(username=username).exists():
            raise InputError(
                _("The user name {username} is taken: choose another.").format(username=username)
            )
        # Without a password nothing opens the account but its link.
        account = act.create(
            Account,
            username=username, name=name.strip(), initials=initials.strip(), role=role,
            training=training, demo=demo, password=make_password(password),
        )  # fmt: skip
        act.subject = f"account:{account.pk}"
        return account


def set_password(actor: Actor, account: Account, password: str) -> Account:
    """A new password; every session and every link of the account ends."""
    with action(actor, "set password", account) as act:
        act.change(account, password=make_password(password), era=account.era + 1)
        end_links(act, account)
        end_sessions(account.pk)
        return account


def note_sign_in(actor: Actor) -> None:
    """Records a sign-in with the password: whoever has it needs no link, so links end."""
    with action(actor, "sign in", actor.account) as act:
        end_links(act, actor.account)


def note_failed_sign_in(actor: Actor, username: str) -> None:
    """Records a sign-in that failed, with the name if there is such an account.

    A name that nobody has may be a password in the wrong box: it is not kept.
    """
    known = Account.objects.filter(username=username).first()
    with action(actor, "failed sign in", known or "account:unknown") as act:
        act.note(account=known.username if known else "no such account")


def change_account(actor: Actor, account: Account, **fields: Any) -> Account:
    """Name, role, training, unit or whether the account may sign in.

    Another role, and an account that may no longer sign in, end every session and every link for
    good. Whoever becomes a prescriber or a manager loses the second factor, if any, and chooses a
    new password by a link, which a second manager approves: else one manager could make an account,
    open it and raise it.

    Raises
    ------
    InputError
        If it is the last manager.
    """
    with action(actor, "change account", account) as act:
        if _last_manager(account, fields):
            raise InputError(_("This is the last manager: make another one first."))
        role = fields.get("role", account.role)
        shut = account.is_active and not fields.get("is_active", True)
        if role != account.role or shut:
            fields["era"] = account.era + 1
            end_links(act, account)
            end_sessions(account.pk)
        if role != account.role and role in GUARDED and actor.account is not None:
            # Else a factor set up before would stand in for the second manager.
            drop_factor(act, account)
            fields["password"] = make_password(None)
        return act.change(account, **fields)


def _last_manager(account: Account, fields: Mapping[str, Any]) -> bool:
    if account.role != Role.MANAGER:
        return False
    stays = fields.get("role", Role.MANAGER) == Role.MANAGER and fields.get("is_active", True)
    others = Account.objects.filter(role=Role.MANAGER, is_active=True).exclude(pk=account.pk)
    return not stays and not others.exists()
