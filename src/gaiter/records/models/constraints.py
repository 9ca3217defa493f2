"""What the database itself holds rows to, beside what is unique."""

from django.db.models import CheckConstraint, Q
from django.utils.translation import gettext_lazy as _


def both_or_neither(moment: str, hand: str, name: str) -> CheckConstraint:
    """A moment stands with the account whose it was, or neither stands."""
    return CheckConstraint(
        condition=Q(**{moment: None, hand: None})
        | Q(**{f"{moment}__isnull": False, f"{hand}__isnull": False}),
        name=name,
        violation_error_message=_("When it was done and by whom are kept together."),
    )


def above_nothing(number: str, name: str) -> CheckConstraint:
    """A number that is more than nothing."""
    return CheckConstraint(
        condition=Q(**{f"{number}__gt": 0}),
        name=name,
        violation_error_message=_("A pressure or a size must be more than 0: correct it."),
    )
