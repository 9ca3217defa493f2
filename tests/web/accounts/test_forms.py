"""Boxes of accounts: what they take, and what they refuse before anything is asked of a record."""

import pytest

from gaiter.files.policy_file import shipped_policy
from gaiter.records.models import Role
from gaiter.web.accounts.forms import (
    AccountForm,
    AnyCodeForm,
    ChangeAccountForm,
    CodeForm,
    NoticesForm,
    OrderForm,
    OwnForm,
    PasswordForm,
    RemovalForm,
    SignInForm,
    StepUpForm,
    WelcomeForm,
)

ORDER = {
    "maximum_mmhg": "40", "words": "While I am away.", "starts": "2026-11-25",
    "ends": "2026-11-28", "password": "thimble orchard gravel",
}  # fmt: skip
ACCOUNT = {"username": "nurse", "name": "Bo Invented", "initials": "BI", "training": "trained"}


def test_a_name_is_kept_small_and_a_password_as_it_was_typed() -> None:
    form = SignInForm({"username": "  Nurse ", "password": "  Orchard  ", "once": "1"})
    assert form.is_valid()
    # Only what signs in; the token that lets a form count once does not.
    assert form.cleaned_data == {"username": "nurse", "password": "  Orchard  "}


@pytest.mark.parametrize(
    ("form", "box", "hint"),
    [
        (SignInForm, "username", "username"),
        (SignInForm, "password", "current-password"),
        (PasswordForm, "password", "current-password"),
        (CodeForm, "code", "one-time-code"),
        (AnyCodeForm, "code", "one-time-code"),
        (WelcomeForm, "link", "off"),
        (WelcomeForm, "password", "new-password"),
        (OwnForm, "new_password", "new-password"),
        (OrderForm, "password", "current-password"),
    ],
)
def test_a_browser_is_told_what_to_fill_in(form, box, hint) -> None:
    shown = str(form()[box])
    assert f'autocomplete="{hint}"' in shown
    assert ('type="password"' in shown) is ("password" in box)


@pytest.mark.parametrize("form", [SignInForm, PasswordForm, WelcomeForm, OwnForm, OrderForm])
def test_a_page_that_comes_back_does_not_hold_the_password(form) -> None:
    assert "thimble" not in str(form({"password": "thimble orchard gravel"}))


@pytest.mark.parametrize("form", [SignInForm, PasswordForm, OrderForm])
def test_a_password_of_any_length_is_not_hashed(form) -> None:
    """Up to 200 characters; hashing more would keep the server busy."""
    assert "password" not in form({"password": "x" * 200}).errors
    assert "password" in form({"password": "x" * 201}).errors


@pytest.mark.parametrize(
    ("typed", "good"),
    [("123456", True), ("12345", False), ("1234567", False), ("12345a", False), ("", False)],
)
def test_a_code_is_six_digits(typed, good) -> None:
    form = CodeForm({"code": typed})
    assert form.is_valid() is good
    if typed and not good:
        assert form.errors["code"] == ["Give the six digits shown."]


def test_a_recovery_code_is_taken_where_it_may_stand_for_one() -> None:
    assert AnyCodeForm({"code": "ab12-cd34"}).is_valid()
    assert not AnyCodeForm({"code": "x" * 21}).is_valid()


def test_a_code_is_asked_for_only_where_there_is_a_second_factor() -> None:
    given = {"password": "thimble orchard gravel"}
    assert StepUpForm(given, asks_code=False).is_valid()
    asked = StepUpForm(given, asks_code=True)
    assert list(asked.errors) == ["present"]
    assert StepUpForm({**given, "present": "123456"}, asks_code=True).is_valid()
    # Left out of one form, it is not left out of the next.
    assert "present" in StepUpForm(asks_code=True).fields


def test_a_first_visit_needs_link_and_password_and_no_code() -> None:
    assert WelcomeForm({"link": "abc", "password": "thimble orchard gravel"}).is_valid()
    assert set(WelcomeForm({}).errors) == {"link", "password"}


def test_keeping_ones_own_password_needs_none() -> None:
    assert OwnForm({"unit": "cm"}).is_valid()
    assert list(OwnForm({"unit": "furlong"}).errors) == ["unit"]


@pytest.mark.parametrize(
    ("typed", "good"),
    [("1", True), ("9" * 10, True), ("9" * 11, False), ("0", False), ("-1", False), ("1a", False)],
)
def test_what_was_read_is_the_number_of_a_row(typed, good) -> None:
    """A longer one a database refuses to look for."""
    assert NoticesForm({"upto": typed}).is_valid() is good


@pytest.mark.parametrize(
    ("words", "good"), [("ab", False), ("abc", True), ("x" * 500, True), ("x" * 501, False)]
)
def test_removing_a_second_factor_is_explained(words, good) -> None:
    assert RemovalForm({"words": words}).is_valid() is good


@pytest.mark.parametrize("role", Role.values)
def test_an_account_has_one_of_the_roles(role) -> None:
    assert AccountForm({**ACCOUNT, "role": role}).is_valid()
    form = ChangeAccountForm({**ACCOUNT, "role": role}, initial={})
    assert form.is_valid()
    # A box that is not ticked is not sent: the account may not sign in.
    assert form.cleaned_data["is_active"] is False


@pytest.mark.parametrize(
    "wrong",
    [{"role": "owner"}, {"training": "wizard"}, {"initials": "x" * 9}, {"username": "x" * 41}],
)
def test_an_account_is_nothing_else(wrong) -> None:
    form = AccountForm({**ACCOUNT, "role": "bandager", **wrong})
    assert list(form.errors) == list(wrong)


@pytest.mark.parametrize(
    ("mmhg", "good"), [("4.9", False), ("5", True), ("60", True), ("60.1", False), ("nan", False)]
)
def test_an_order_names_a_pressure_that_policy_allows(mmhg, good) -> None:
    policy = shipped_policy()
    assert (policy["override_least_mmhg"], policy["order_largest_mmhg"]) == (5, 60)
    assert OrderForm({**ORDER, "maximum_mmhg": mmhg}).is_valid() is good


def test_an_order_without_a_number_is_for_every_patient() -> None:
    form = OrderForm(ORDER)
    assert form.is_valid()
    assert form.cleaned_data["number"] == ""


@pytest.mark.parametrize("box", list(ORDER))
def test_everything_else_of_an_order_is_said(box) -> None:
    assert list(OrderForm({**ORDER, box: ""}).errors) == [box]


def test_a_day_is_written_in_one_way() -> None:
    form = OrderForm({**ORDER, "ends": "28.11.2026"})
    assert form.errors["ends"] == ["Give a date such as 2026-11-25."]
    assert 'type="date"' in str(form["ends"])
