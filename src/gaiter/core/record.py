"""What every record of a document has in common."""

from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, SerializerFunctionWrapHandler, model_serializer


class Record(BaseModel):
    """A frozen record that refuses unknown fields, infinities and NaN."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True
    )


class GrownRecord(Record):
    """A record that got fields after documents with it were kept.

    Without them it is written as it was before there was a place for them: a document that
    somebody kept is still the one that was written, to the letter of its fingerprint.

    Attributes
    ----------
    later : tuple of tuple of str
        Fields that came together; they are left out where all of them have their default.

    Examples
    --------
    >>> class Grown(GrownRecord):
    ...     later = (("girth_cm",),)
    ...     name: str
    ...     girth_cm: float | None = None
    >>> Grown(name="calf").model_dump(), Grown(name="calf", girth_cm=37.0).model_dump()
    ({'name': 'calf'}, {'name': 'calf', 'girth_cm': 37.0})
    """

    later: ClassVar[tuple[tuple[str, ...], ...]] = ()

    @model_serializer(mode="wrap")
    def _as_before(self, whole: SerializerFunctionWrapHandler) -> dict[str, Any]:
        written: dict[str, Any] = whole(self)
        fields = type(self).model_fields
        for together in self.later:
            if all(getattr(self, name) == fields[name].default for name in together):
                for name in together:
                    written.pop(name, None)
        return written
