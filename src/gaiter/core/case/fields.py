"""How the fields of a case are declared.

Numbers and yes-or-no answers are strict: text such as "no" or a 0 is not an answer, and true is
not a heart failure class. Guessing there would let a slip of typing pass for a finding.
"""

from datetime import date
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from gaiter.core.errors import InputError
from gaiter.core.words import Said


def measured(about: str, low: float, high: float, unit: str, **extra: Any) -> Any:
    """A field with a unit and an allowed range; both stand in the JSON Schema and in errors.

    Parameters
    ----------
    about : str
        What it is.
    low, high : float
        Allowed range [unit], both ends included.
    unit : str
        Its unit.
    **extra
        Passed on to the field.

    Returns
    -------
    pydantic.fields.FieldInfo

    Examples
    --------
    >>> measured("Girth at the ankle", 13, 60, "cm").description
    'Girth at the ankle [cm]'
    """
    return Field(
        description=f"{about} [{unit}]",
        ge=low,
        le=high,
        strict=True,
        json_schema_extra={"unit": unit},
        **extra,
    )


def answered(about: str) -> Any:
    """A question answered true or false; left out, it was not asked or not looked at.

    Parameters
    ----------
    about : str
        The question.

    Returns
    -------
    pydantic.fields.FieldInfo

    Examples
    --------
    >>> answered("Diabetes").description
    'Diabetes'
    """
    return Field(description=about, strict=True)


def _written_as_a_date(value: Any) -> Any:
    # A bare number would be read as seconds since 1970.
    if isinstance(value, int | float):
        raise InputError(
            Said(
                "must be a date such as 2026-11-25; received {value}: correct it",
                {"value": str(value)},
            )
        )
    return value


Day = Annotated[date, BeforeValidator(_written_as_a_date)]
"""A calendar day, written 2026-11-25."""
