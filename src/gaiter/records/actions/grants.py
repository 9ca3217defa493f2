"""What a manager does to somebody's way in: one-time links, and the end of a lost second factor.

Of accounts that approve plans or make accounts a grant counts only once a second manager has
approved it; a link also where its user shows the account's second factor. So nobody becomes
another alone. Whoever runs the server is trusted with both: a grant of the command line counts at
once, and is shown to its owner like any other.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import timedelta

from django.contrib.auth.hashers import make_password
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.factors import drop_factor, factor_of, recovery_code_of, use_code
from gaiter.records.entrance.sessions import end_sessions
from gaiter.records.entrance.tries import Kind, count_try, forget
from gaiter.records.ledger import Action, Actor, NotAllowedError, action
from gaiter.records.models import Account, Grant, Role

LINK_LASTS = timedelta(days=3)
# Whoever approves plans, and whoever could make such an account.
GUARDED = frozenset({Role.PRESCRIBER, Role.MANAGER})


def _hashed(code: str) -> str:
    return hashlib.sha256(code.encode(errors="surrogatepass")).hexdigest()


def _manages(actor: Actor) -> None:
    """Refuses whoever is no manager; the command line has no account and may."""
    account = actor.account
    if account is not None and (account.role != Role.MANAGER or not account.is_active):
        raise NotAllowedError(_("Only a manager does this."))


def open_grants() -> QuerySet[Grant]:
    """Grants that are neither used nor ended; some may be too old."""
    return Grant.objects.filter(used_at=None, ended_at=None)


def end_links(act: Action, account: Account) -> None:
    """Links of an account that were not used are none any longer."""
    for link in open_grants().filter(account=account, kind=Grant.Kind.LINK):
        act.change(link, ended_at=act.at)


@dataclass(frozen=True)
class IssuedLink:
    """A link just made; its code is in no other place.

    Attributes
    ----------
    path : str
        Path with the code behind the number sign.
    waits : bool
        Whether it opens nothing before a second manager approves it.
    asks_code : bool
        Whether its user must show the account's second factor.
    """

    path: str
    waits: bool
    asks_code: bool


def issue_link(actor: Actor, account: Account, once: str | None = None) -> IssuedLink:
    """A link with which an account chooses its password; every older one ends.

    The code stands behind the number sign, which no browser sends: no log of ours, of a proxy or of
    a page that is left can hold it.

    Raises
    ------
    NotAllowedError
        If whoever asks is no manager.
    InputError
        If the account may not sign in.
    """
    _manages(actor)
    code = secrets.token_urlsafe(24)
    with action(actor, "issue one-time link", account, once) as act:
        account.refresh_from_db(from_queryset=Account.objects.select_for_update())
        if not account.is_active:
            raise InputError(_("This account may not sign in: let it first."))
        end_links(act, account)
        asks_code = factor_of(account) is not None
        grant = act.create(
            Grant, kind=Grant.Kind.LINK, account=account, by=actor.account, at=act.at,
            until=act.at + LINK_LASTS, words="", secret=_hashed(code),
            guarded=_needs_second(actor, account) and not asks_code,
        )  # fmt: skip
    return IssuedLink(f"{reverse('welcome')}#{code}", grant.guarded, asks_code)


def _needs_second(actor: Actor, account: Account) -> bool:
    return actor.account is not None and account.role in GUARDED


def ask_removal(actor: Actor, account: Account, words: str, once: str | None = None) -> Grant:
    """Ends a lost second factor; of a prescriber or manager once a second manager approves.

    Raises
    ------
    NotAllowedError
        If whoever asks is no manager.
    InputError
        If there is no second factor, or no reason.
    """
    _manages(actor)
    if not 3 <= len(words.strip()) <= 500:
        raise InputError(_("Say in 3 to 500 characters how you know that it is lost."))
    if actor.account is not None and actor.account.pk == account.pk:
        raise InputError(_("Your own second factor is removed by another manager."))
    with action(actor, "ask to remove second factor", account, once) as act:
        account.refresh_from_db(from_queryset=Account.objects.select_for_update())
        if factor_of(account) is None:
            raise InputError(_("This account has no second factor."))
        for older in open_grants().filter(account=account, kind=Grant.Kind.REMOVAL):
            act.change(older, ended_at=act.at)
        grant = act.create(
            Grant, kind=Grant.Kind.REMOVAL, account=account, by=actor.account, at=act.at,
            until=act.at + LINK_LASTS, words=words.strip(),
            guarded=_needs_second(actor, account),
        )  # fmt: skip
        if not grant.guarded:
            _remove(act, grant)
        return grant


def _remove(act: Action, grant: Grant) -> None:
    drop_factor(act, grant.account)
    # A link that leant on the second factor would stand open without it.
    end_links(act, grant.account)
    act.change(grant, used_at=act.at, used_from=act.actor.where[:60])


def approve_grant(actor: Actor, grant: Grant, once: str | None = None) -> Grant:
    """A second manager's approval; a removal is done with it.

    Raises
    ------
    NotAllowedError
        If whoever asks is no manager, asked for it, or is its owner.
    InputError
        If it waits for nobody any longer.
    """
    _manages(actor)
    with action(actor, "approve grant", grant.account, once) as act:
        grant = Grant.objects.select_for_update().get(pk=grant.pk)
        if actor.account is not None and actor.account.pk in (grant.by_id, grant.account_id):
            raise NotAllowedError(_("Another manager than the one who asked approves this."))
        if not is_open(grant, actor) or not grant.guarded or grant.second_at is not None:
            raise InputError(_("This waits for nobody any longer: load the page again."))
        act.change(grant, second=actor.account, second_at=act.at)
        if grant.kind == Grant.Kind.REMOVAL:
            _remove(act, grant)
        return grant


def end_grant(actor: Actor, grant: Grant, once: str | None = None) -> Grant:
    """Takes back what was not used yet."""
    _manages(actor)
    with action(actor, "end grant", grant.account, once) as act:
        grant = Grant.objects.select_for_update().get(pk=grant.pk)
        if not is_open(grant, actor):
            raise InputError(_("This was used or has ended already."))
        return act.change(grant, ended_at=act.at)


def is_open(grant: Grant, actor: Actor) -> bool:
    """Whether a grant is neither used, ended nor too old."""
    return grant.used_at is None and grant.ended_at is None and actor.now < grant.until


def waiting_grants(actor: Actor) -> list[Grant]:
    """What waits for a second manager, the oldest first."""
    found = open_grants().filter(guarded=True, second_at=None, until__gt=actor.now)
    return list(found.select_related("account", "by").order_by("at"))


def link_of(code: str, actor: Actor) -> Grant | None:
    """The link that a code is of, if it may still be used; it may yet wait for approval."""
    links = Grant.objects.filter(kind=Grant.Kind.LINK, secret=_hashed(code.strip()))
    grant = links.select_related("account", "by").first()
    if grant is None or not is_open(grant, actor) or not grant.account.is_active:
        return None
    return grant


def use_link(actor: Actor, grant: Grant, password: str, code: str = "") -> Account:
    """The password that a link's user chose; every session of the account ends.

    Parameters
    ----------
    actor : Actor
        The account, and from where the link is used.
    grant : Grant
        The link.
    password : str
        The password chosen.
    code : str
        A code of the account's second factor, or a recovery code, where it has one.

    Raises
    ------
    InputError
        If the link was used, ended or is not approved, or the code is wrong.
    """
    whose = str(grant.account_id)
    recovery = None
    if factor_of(grant.account) is not None:
        count_try(Kind.FACTOR, whose)
        recovery = recovery_code_of(grant.account, code)
    with action(actor, "use one-time link", grant.account) as act:
        account = Account.objects.select_for_update().get(pk=grant.account_id)
        held = Grant.objects.select_for_update().get(pk=grant.pk)
        if not is_open(held, actor) or not account.is_active:
            raise InputError(_("This link was used or has ended: ask the manager for a new one."))
        if held.guarded and held.second_at is None:
            raise InputError(waits_words())
        if factor_of(account) is not None:
            use_code(act, account, code, recovery)
        act.change(account, password=make_password(password), era=account.era + 1)
        act.change(held, used_at=act.at, used_from=actor.where[:60])
        act.note(issued_by=held.by.username if held.by else "command line")
        end_links(act, account)
        end_sessions(account.pk)
    forget(Kind.FACTOR, whose)
    return account


def waits_words() -> str:
    """What the user of a link is told that no second manager has approved."""
    return _("This link waits until a second manager approves it: ask for that, then try again.")


def grants_to_show(account: Account) -> list[Grant]:
    """What was done to an account's way in and its owner has not yet read, the oldest first."""
    found = Grant.objects.filter(account=account, shown_at=None)
    return list(found.select_related("by", "second").order_by("at"))


def last_grants(account: Account) -> list[Grant]:
    """The last twenty things that were done to an account's way in, the newest first."""
    found = Grant.objects.filter(account=account).select_related("by", "second")
    return list(found.order_by("-at")[:20])


def note_read(actor: Actor, upto: int) -> None:
    """Its owner has read what was done to the account, up to one grant."""
    with action(actor, "read what was done to the account", actor.account) as act:
        for grant in grants_to_show(actor.account):
            if grant.pk <= upto:
                act.change(grant, shown_at=act.at)
