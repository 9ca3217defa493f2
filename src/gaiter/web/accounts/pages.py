"""What the pages of accounts show; ``next`` is where somebody was going."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from django.forms import Form

from gaiter.records.actions.grants import IssuedLink
from gaiter.records.models import Account, Grant, StandingOrder
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
    """The six digits, or a recovery code."""

    template: ClassVar[str] = "accounts/second_factor.html"
    form: Form
    next: str


@dataclass(frozen=True)
class SecondFactorAskPage(Page):
    """Before a second factor is set up: the password, and the code of the one there is."""

    template: ClassVar[str] = "accounts/second_factor_ask.html"
    form: Form
    has_factor: bool
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
class RecoveryAskPage(Page):
    """Before new recovery codes: the password and a code."""

    template: ClassVar[str] = "accounts/recovery_ask.html"
    form: Form


@dataclass(frozen=True)
class RecoveryCodesPage(Page):
    """Recovery codes, shown this once."""

    template: ClassVar[str] = "accounts/recovery_codes.html"
    codes: Sequence[str]
    next: str


@dataclass(frozen=True)
class WelcomePage(Page):
    """The password of an account, by a one-time link."""

    template: ClassVar[str] = "accounts/welcome.html"
    form: Form


@dataclass(frozen=True)
class WelcomeOverPage(Page):
    """A one-time link that is used or too old."""

    template: ClassVar[str] = "accounts/welcome_over.html"


@dataclass(frozen=True)
class SignedIn:
    """A browser in which one is signed in; ``here`` is the one that asks."""

    pk: int
    began_at: datetime
    seen_at: datetime
    where: str
    here: bool


@dataclass(frozen=True)
class OwnPage(Page):
    """One's own account.

    Attributes
    ----------
    ending : Form
        The password again, to sign out elsewhere.
    has_factor : bool
        Whether one signs in with a code as well.
    codes_left : int
        Recovery codes that were not used.
    sessions : Sequence[SignedIn]
        Where one is signed in.
    grants : Sequence[Grant]
        What managers did to the account's way in, the newest first.
    """

    template: ClassVar[str] = "accounts/own.html"
    form: Form
    ending: Form
    has_factor: bool
    codes_left: int
    sessions: Sequence[SignedIn]
    grants: Sequence[Grant]


@dataclass(frozen=True)
class NoticesPage(Page):
    """What was done to the account and its owner has not read yet."""

    template: ClassVar[str] = "accounts/notices.html"
    grants: Sequence[Grant]
    next: str


@dataclass(frozen=True)
class AccountsPage(Page):
    """Everybody who may sign in; the one-time link just made, and what waits for a manager.

    ``unseen`` is the number of open legs of people whom nobody sees.
    """

    template: ClassVar[str] = "accounts/accounts.html"
    form: Form
    accounts: Iterable[Account]
    waiting: Sequence[Grant]
    link: IssuedLink | None = None
    address: str = ""
    unseen: int = 0


@dataclass(frozen=True)
class AccountPage(Page):
    """One account, with the link just made or none, and ``removal`` where it has a factor."""

    template: ClassVar[str] = "accounts/account.html"
    form: Form
    one: Account
    grants: Sequence[Grant]
    removal: Form | None = None
    link: IssuedLink | None = None
    address: str = ""


@dataclass(frozen=True)
class OrdersPage(Page):
    """Standing orders in force, and the form for whoever may leave one."""

    template: ClassVar[str] = "accounts/orders.html"
    form: Form | None
    orders: Iterable[StandingOrder]
