"""Forms of accounts."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from gaiter.core.case import Training
from gaiter.records.models import Role
from gaiter.records.models.account import Unit
from gaiter.web.frame.forms import ChangeForm, DayField, OnceForm

_TRAININGS = [(t.value, t.value) for t in Training]


def _password(label: Any, complete: str, *, required: bool = True) -> forms.CharField:
    return forms.CharField(
        label=label,
        required=required,
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": complete}),
    )


def _code(label: Any, *, required: bool = True) -> forms.CharField:
    widget = forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "none"})
    return forms.CharField(label=label, max_length=20, required=required, widget=widget)


class SignInForm(OnceForm):
    """Name and password."""

    username = forms.CharField(
        label=_("User name"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = _password(_("Password"), "current-password")

    def clean_username(self) -> str:
        """Names are kept small."""
        return str(self.cleaned_data["username"]).strip().lower()

    def clean(self) -> dict[str, str]:
        """Only what signs in."""
        return {k: v for k, v in self.cleaned_data.items() if k != "once"}


class PasswordForm(OnceForm):
    """The password again."""

    password = _password(_("Your password"), "current-password")


class CodeForm(OnceForm):
    """Six digits."""

    code = forms.RegexField(
        r"^\d{6}$",
        label=_("Six-digit code"),
        error_messages={"invalid": _("Give the six digits shown.")},
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "one-time-code"}),
    )


class AnyCodeForm(OnceForm):
    """Six digits, or a recovery code."""

    code = _code(_("Six-digit code, or a recovery code"))


class StepUpForm(OnceForm):
    """The password again and, where there is a second factor, a code of it."""

    password = _password(_("Your password"), "current-password")
    present = _code(_("Six-digit code of your present telephone, or a recovery code"))

    def __init__(self, *args: Any, asks_code: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not asks_code:
            del self.fields["present"]


class WelcomeForm(OnceForm):
    """What a one-time link asks for; a script puts the code of the address into its box."""

    link = forms.CharField(
        label=_("Code of the link: what stands behind # in it"),
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    password = _password(_("New password, 12 characters or more"), "new-password")
    code = _code(_("Six-digit code or recovery code, if you sign in with one"), required=False)


class NoticesForm(OnceForm):
    """The last thing that its owner has read."""

    upto = forms.RegexField(r"^[1-9][0-9]{0,9}$")


class RemovalForm(OnceForm):
    """Why a second factor is removed."""

    words = forms.CharField(
        label=_("How do you know that it is lost, and that its owner asks?"),
        min_length=3,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class OwnForm(OnceForm):
    """Unit and password of one's own account."""

    unit = forms.ChoiceField(label=_("Lengths in"), choices=Unit.choices)
    password = _password(_("Present password"), "current-password", required=False)
    new_password = _password(
        _("New password, 12 characters or more (leave empty to keep)"),
        "new-password",
        required=False,
    )


class AccountForm(OnceForm):
    """A new account."""

    username = forms.CharField(label=_("User name"), max_length=40)
    name = forms.CharField(label=_("Name"), max_length=80)
    initials = forms.CharField(label=_("Initials (written on tape)"), max_length=8)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices)
    training = forms.ChoiceField(
        label=_("Training in bandaging"), choices=_TRAININGS, initial=Training.TRAINED
    )


class ChangeAccountForm(ChangeForm):
    """What may change of an account."""

    name = forms.CharField(label=_("Name"), max_length=80)
    initials = forms.CharField(label=_("Initials"), max_length=8)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices)
    training = forms.ChoiceField(label=_("Training in bandaging"), choices=_TRAININGS)
    is_active = forms.BooleanField(label=_("May sign in"), required=False)


class OrderForm(OnceForm):
    """A standing order."""

    number = forms.CharField(
        label=_("Patient's number (empty: clinic protocol, for every patient)"),
        max_length=40,
        required=False,
    )
    maximum_mmhg = forms.FloatField(label=_("Up to, mmHg at the gaiter"), min_value=5, max_value=60)
    words = forms.CharField(
        label=_("What it covers"), max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    starts = DayField(label=_("From"))
    ends = DayField(label=_("Until"))
    password = _password(_("Your password"), "current-password")
