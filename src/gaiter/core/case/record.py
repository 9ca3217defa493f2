"""What every record of a case has in common, and how a measured field is declared."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Record(BaseModel):
    """A frozen record that refuses unknown fields, infinities and NaN."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True
    )


def measured(about: str, low: float, high: float, unit: str, **extra: Any) -> Any:
    """A field with a unit and an allowed range; both stand in the JSON Schema and in errors."""
    return Field(
        description=f"{about} [{unit}]",
        ge=low,
        le=high,
        json_schema_extra={"unit": unit},
        **extra,
    )
