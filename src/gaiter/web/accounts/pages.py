"""What the pages of accounts show; ``next`` is where somebody was going."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from django.forms import Form

from gaiter.records.models import Account, StandingOrder
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class SignInPage(Page):
    """Name and password.

    Attributes
    ----------
    locked_out : str
        Why nobody may sign in from here for a while; empty where somebody may.
    nobody_yet : bool
        Whether there is no account at all.
    demo_accounts : Iterable[Account]
        Accounts of the invented clinic, listed with their password.
    """

    template: ClassVar[str] = "accounts/sign_in.html"
    form: Form
    next: str = ""
    locked_out: str = ""
    nobody_yet: bool = False
    demo_accounts: Iterable[Account] = ()


@dataclass(frozen=True)
class LockPage(Page):
    """The screen locked after idling."""

    template: ClassVar[str] = "accounts/lock.html"
    form: Form
    next: str


@dataclass(frozen=True)
class SecondFactorPage(Page):
    """The six digits."""

    template: ClassVar[str] = "accounts/second_factor.html"
    form: Form
    next: str


@dataclass(frozen=True)
class SecondFactorSetUpPage(Page):
    """A second factor to be set up: a picture as a ``data:`` address, and the key it holds."""

    template: ClassVar[str] = "accounts/second_factor_set_up.html"
    form: Form
    picture: str
    key: str
    next: str


@dataclass(frozen=True)
class WelcomePage(Page):
    """The first password of an account."""

    template: ClassVar[str] = "accounts/welcome.html"
    form: Form
    account: Account


@dataclass(frozen=True)
class WelcomeOverPage(Page):
    """A one-time link that is used or too old."""

    template: ClassVar[str] = "accounts/welcome_over.html"


@dataclass(frozen=True)
class OwnPage(Page):
    """One's own account, and whether it has a second factor."""

    template: ClassVar[str] = "accounts/own.html"
    form: Form
    has_factor: bool


@dataclass(frozen=True)
class AccountsPage(Page):
    """Everybody who may sign in; ``link`` is the one-time link just made, or empty."""

    template: ClassVar[str] = "accounts/accounts.html"
    form: Form
    link: str
    accounts: Iterable[Account]


@dataclass(frozen=True)
class AccountPage(Page):
    """One account; ``link`` is the one-time link just made, or empty."""

    template: ClassVar[str] = "accounts/account.html"
    form: Form
    one: Account
    link: str = ""


@dataclass(frozen=True)
class OrdersPage(Page):
    """Standing orders in force, and the form for whoever may leave one."""

    template: ClassVar[str] = "accounts/orders.html"
    form: Form | None
    orders: Iterable[StandingOrder]
