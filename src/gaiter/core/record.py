"""What every record of a document has in common."""

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """A frozen record that refuses unknown fields, infinities and NaN."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True
    )
