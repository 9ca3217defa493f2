"""Questions by their path: their words, as the case schema has them."""

from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from gaiter.core.case import Arms, Person, SafetyLeg

_TOP: dict[str, type[BaseModel]] = {"person": Person, "arms": Arms, "leg": SafetyLeg}


@cache
def label_of(path: str) -> str:
    """Words of the question at a path (``person.``, ``arms.`` or ``leg.``).

    Parameters
    ----------
    path : str
        Of the question.

    Returns
    -------
    str
        Without its unit.

    Raises
    ------
    KeyError
        If there is no such question.

    Examples
    --------
    >>> label_of("leg.findings.gangrene")
    'Black or dead tissue'
    """
    top, *parts = path.split(".")
    model: Any = _TOP[top]
    for part in parts[:-1]:
        model = _model_in(model.model_fields[part].annotation)
    description = model.model_fields[parts[-1]].description or parts[-1].replace("_", " ")
    return str(description).split(" [")[0]


def _model_in(annotation: Any) -> Any:
    """The record that a field holds, an optional one included."""
    for candidate in (annotation, *get_args(annotation)):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    raise KeyError(annotation)
