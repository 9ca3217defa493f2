"""Accounts."""

import re
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.tokens import default_token_generator
from django.urls import reverse
from django.utils.translation import gettext as _

from gaiter.core.case import Training
from gaiter.core.errors import InputError
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


def one_time_link(account: Account) -> str:
    """Path of the link with which an account chooses its password; it dies with its use."""
    return reverse("welcome", args=[account.pk, default_token_generator.make_token(account)])


def set_password(actor: Actor, account: Account, password: str) -> Account:
    """A new password."""
    with action(actor, "set password", account) as act:
        return act.change(account, password=make_password(password))


def change_account(actor: Actor, account: Account, **fields: Any) -> Account:
    """Name, role, training, unit or whether the account may sign in."""
    stays = fields.get("role", Role.MANAGER) == Role.MANAGER and fields.get("is_active", True)
    with action(actor, "change account", account) as act:
        managers = Account.objects.filter(role=Role.MANAGER, is_active=True)
        if (
            account.role == Role.MANAGER
            and not stays
            and not managers.exclude(pk=account.pk).exists()
        ):
            raise InputError(_("This is the last manager: make another one first."))
        return act.change(account, **fields)
