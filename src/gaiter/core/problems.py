"""What is wrong with given values, by path: allowed range with unit, received, advice."""

import difflib
import json
from collections.abc import Mapping, Sequence
from dataclasses import InitVar, dataclass
from dataclasses import field as dataclass_field
from enum import StrEnum
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from gaiter.core.errors import FieldError, InputError
from gaiter.core.units import CM_PER_INCH
from gaiter.core.words import Said, Value, words

_MM_PER_CM = 10
_OTHER_UNITS = (
    (Said("millimetres"), 1 / _MM_PER_CM, "g"),
    (Said("inches"), CM_PER_INCH, ".1f"),
    (Said("metres"), 100, "g"),
)
_LONGEST_ECHO, _LONGEST_LINE = 60, 1200
_CORRECT_IT = Said("correct it")


class Wrong(StrEnum):
    """What kind of problem it is."""

    MISSING = "missing"
    UNKNOWN = "unknown"
    VALUE = "value"
    CONTRADICTION = "contradiction"


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with what was given.

    Attributes
    ----------
    field : str
        Dotted path of the value that was judged, or of the table whose values contradict each
        other; empty for the whole.
    sentence : Said or str
        What, allowed range with unit, what was received, what to do; kept as ``said``.
    code : Wrong
        What kind of problem it is.
    about : str
        Dotted path of the value to correct, in a table that contradicts itself; else ``field``.
    short : Said, optional
        The sentence without the name of the value in front; else the whole. Kept as ``words``.

    Examples
    --------
    >>> one = Problem("legs.left.girths_cm.ankle", "must be 10 to 60 cm; received 600")
    >>> str(one)
    'legs.left.girths_cm.ankle: must be 10 to 60 cm; received 600'
    >>> one.about == one.field, one.code.value
    (True, 'value')
    """

    field: str
    sentence: InitVar[Said | str]
    code: Wrong = Wrong.VALUE
    about: str = ""
    short: InitVar[Said | None] = None
    said: Said = dataclass_field(init=False)
    words: Said = dataclass_field(init=False)

    def __post_init__(self, sentence: Said | str, short: Said | None) -> None:
        said = sentence if isinstance(sentence, Said) else Said(sentence)
        object.__setattr__(self, "about", self.about or self.field)
        object.__setattr__(self, "said", said)
        object.__setattr__(self, "words", short or said)

    @property
    def text(self) -> str:
        """The English sentence.

        Returns
        -------
        str

        Examples
        --------
        >>> Problem("stock", Said("leave one out")).text
        'leave one out'
        """
        return self.said.text

    @property
    def line(self) -> Said:
        """The sentence with the path in front, for any language.

        One that no terminal can show, for what stands in it, is English in every language.

        Returns
        -------
        Said

        Examples
        --------
        >>> Problem("stock", Said("leave one out")).line.text
        'stock: leave one out'
        """
        said = self.said
        if self.field:
            said = Said("{field}: {problem}", {"field": _shortened(self.field), "problem": said})
        shown = _readable(said.text)
        return said if shown == said.text else Said("{line}", {"line": shown})

    def __str__(self) -> str:
        return self.line.text


_Model = TypeVar("_Model", bound=BaseModel)


def judged(model: type[_Model], mapping: Mapping[str, Any]) -> _Model | tuple[Problem, ...]:
    """The record that a mapping makes, or every problem with it.

    Parameters
    ----------
    model : type
        Record of the core.
    mapping : Mapping
        By the names of its fields.

    Returns
    -------
    object of that type, or tuple[Problem, ...]

    Examples
    --------
    >>> from gaiter.core.case import Person
    >>> judged(Person, {"age_years": 300})[0].about
    'age_years'
    """
    try:
        return model.model_validate(mapping)
    except ValidationError as error:
        return problems_of(error, model)


def problems_of(error: ValidationError, model: type[BaseModel]) -> tuple[Problem, ...]:
    """Problems in words, in the order of the fields.

    Parameters
    ----------
    error : ValidationError
        What the record said.
    model : type
        The record.

    Returns
    -------
    tuple[Problem, ...]

    Examples
    --------
    >>> from gaiter.core.case import Person
    >>> try:
    ...     Person(age_years=300)
    ... except ValidationError as error:
    ...     print(problems_of(error, Person)[0].code.value)
    value
    """
    schema = model.model_json_schema(by_alias=True)
    details = error.errors(include_url=False)
    # What stands under an unknown name cannot be judged; only the name is the problem.
    unknown = {detail["loc"][:-1] for detail in details if detail["loc"][-1:] == ("[key]",)}
    # A list whose only entry is wrong is also reported as empty; the entry is the problem.
    above = {detail["loc"][:end] for detail in details for end in range(len(detail["loc"]))}
    details = [one for one in details if one["type"] != "too_short" or one["loc"] not in above]
    return tuple(
        _problem(detail, schema)
        for detail in details
        if detail["loc"][-1:] == ("[key]",)
        or not any(detail["loc"][: len(place)] == place for place in unknown)
    )


def _problem(detail: ErrorDetails, schema: Mapping[str, Any]) -> Problem:
    path = [str(part) for part in detail["loc"]]
    field = ".".join(part for part in path if part != "[key]")
    kind, received, context = detail["type"], detail["input"], detail.get("ctx", {})
    node = node_at(schema, path)
    if kind == "extra_forbidden":
        known = sorted(node_at(schema, path[:-1]).get("properties", {}))
        advice = {"advice": nearest(path[-1], known)}
        return Problem(field, Said("unknown field; {advice}", advice), Wrong.UNKNOWN)
    if kind == "missing":
        missing = Said("required and missing; give {allowed}", {"allowed": _allowed(node)})
        return Problem(field, missing, Wrong.MISSING)
    if kind == "value_error":
        return _contradiction(field, context["error"])
    if kind in ("too_short", "too_long"):
        return Problem(field, _size_problem(context))
    if kind in ("enum", "literal_error"):
        one_of = Said(
            "must be one of {expected}; received {received}",
            {"expected": str(context["expected"]), "received": echo(received)},
        )
        return Problem(field, one_of)
    return Problem(field, _wrong_value(schema, node, path[-1] if path else "", received))


def _wrong_value(
    schema: Mapping[str, Any], node: Mapping[str, Any], name: str, received: Any
) -> Said:
    """What is wrong with a value in a file, and how to write it."""
    if _is_quoted(node, received):
        return Said(
            "must be {allowed}; received {received}: remove the quotation marks",
            {"allowed": _allowed(node), "received": echo(received)},
        )
    if node.get("type") == "object" and not isinstance(received, Mapping):
        advice = _table_advice(schema, node, name, received)
        return Said(
            "must be a table; received {received}: {advice}",
            {"received": echo(received), "advice": advice},
        )
    return value_problem(node, received)


def _is_quoted(node: Mapping[str, Any], received: Any) -> bool:
    """Whether a number or an answer was written as text."""
    if not isinstance(received, str):
        return False
    if node.get("type") == "boolean":
        return received in ("true", "false")
    if node.get("type") not in ("number", "integer"):
        return False
    try:
        float(received)
    except ValueError:
        return False
    return True


def _table_advice(
    schema: Mapping[str, Any], node: Mapping[str, Any], name: str, received: Any
) -> Said:
    """What to write where a bare value stands in the place of a table."""
    properties = node.get("properties")
    if not properties:
        return Said("write [{name}] on a line of its own and its entries below", {"name": name})
    inner = {key: _resolved(schema, one) for key, one in properties.items()}
    key = next((key for key, one in inner.items() if received in one.get("enum", ())), None)
    if key is not None:
        value = json.dumps(received, ensure_ascii=False)
        return Said(
            "write {name} = {{ {key} = {value} }}", {"name": name, "key": key, "value": value}
        )
    names: dict[str, Value] = {"name": name, "names": ", ".join(properties)}
    if required := node.get("required", ()):
        return Said(
            "write {name} = {{ ... }} with at least {needed}, of {names}",
            {**names, "needed": " and ".join(required)},
        )
    return Said("write {name} = {{ ... }} with any of {names}", names)


def _size_problem(context: Mapping[str, Any]) -> Said:
    if "min_length" in context:
        least = {"least": context["min_length"]}
        return Said("must hold at least {least}; received none: add one", least)
    return Said(
        "must hold at most {most}; received {received}: leave some out",
        # An iterable that is too long may not say how long it is.
        {"most": context["max_length"], "received": str(context["actual_length"])},
    )


def _contradiction(field: str, error: ValueError) -> Problem:
    """What a record says of its own values, already one whole sentence."""
    if not isinstance(error, FieldError):
        said = error.said if isinstance(error, InputError) else str(error)
        return Problem(field, said, Wrong.CONTRADICTION)
    about = f"{field}.{error.path}" if field else error.path
    code = Wrong.MISSING if error.missing else Wrong.CONTRADICTION
    return Problem(field, error.said, code, about, error.words)


def value_problem(node: Mapping[str, Any], received: Any) -> Said:
    """What is wrong with a value, given the part of the JSON Schema that describes it.

    Parameters
    ----------
    node : Mapping
        Part of a JSON Schema, with ``unit`` where it has one.
    received : object
        What was given, or what is said of it.

    Returns
    -------
    Said
        Sentence without the name of the value.

    Examples
    --------
    >>> value_problem({"type": "number", "minimum": 10, "maximum": 60, "unit": "cm"}, 230).text
    'must be 10 to 60 cm; received 230: this looks like millimetres, give 23 cm'
    """
    return Said(
        "must be {allowed}; received {received}: {advice}",
        {
            "allowed": _allowed(node),
            "received": received if isinstance(received, Said) else echo(received),
            "advice": _unit_advice(node, received),
        },
    )


def node_at(schema: Mapping[str, Any], path: Sequence[str]) -> Mapping[str, Any]:
    """The part of a JSON Schema that describes a field; empty where there is none.

    Parameters
    ----------
    schema : Mapping
        JSON Schema of a record.
    path : sequence of str
        Names from the top.

    Returns
    -------
    Mapping

    Examples
    --------
    >>> from gaiter.core.case import Person
    >>> node_at(Person.model_json_schema(), ["age_years"])["unit"]
    'years'
    """
    node: Any = schema
    for part in ["", *path]:
        if part:
            properties = node.get("properties", {})
            beyond = node.get("additionalProperties", node.get("items", {}))
            node = properties.get(part, beyond)
        node = _resolved(schema, node)
        if not isinstance(node, Mapping):
            return {}
    return node


def _resolved(schema: Mapping[str, Any], node: Any) -> Any:
    """Follows references and the one real choice of an optional field."""
    while isinstance(node, Mapping):
        if "$ref" in node:
            rest = {key: value for key, value in node.items() if key != "$ref"}
            node = {**schema["$defs"][node["$ref"].rsplit("/", 1)[-1]], **rest}
        elif "anyOf" in node:
            choice = next(c for c in node["anyOf"] if c.get("type") != "null")
            node = {
                **choice,
                **{key: value for key, value in node.items() if key != "anyOf"},
            }
        else:
            return node
    return node


_KINDS = {
    "boolean": Said("true or false"),
    "string": Said("text"),
    "number": Said("a number"),
    "integer": Said("a whole number"),
    "object": Said("a table"),
    "array": Said("a list"),
}


def _allowed(node: Mapping[str, Any]) -> Said:
    low, high = node.get("minimum"), node.get("maximum")
    if low is not None and high is not None:
        return _range(low, high, node.get("unit", ""), whole=node.get("type") == "integer")
    if listed := _listed(node):
        return listed
    if node.get("type") == "object" and (required := node.get("required")):
        return Said("a table with at least {needed}", {"needed": " and ".join(required)})
    kind = _KINDS.get(str(node.get("type")), Said("a value of the documented kind"))
    return _of_length(kind, node) if "maxLength" in node else kind


def _listed(node: Mapping[str, Any]) -> Said | None:
    """What is written in one of a few ways."""
    if "const" in node:
        return Said("{value}", {"value": repr(node["const"])})
    if "enum" in node:
        return Said("one of {values}", {"values": words(map(str, node["enum"]))})
    return Said("a date such as 2026-11-25") if node.get("format") == "date" else None


def _of_length(kind: Said, node: Mapping[str, Any]) -> Said:
    least, most = node.get("minLength", 0), node["maxLength"]
    if least > 1:
        return Said(
            "{kind} of {least} to {most} characters", {"kind": kind, "least": least, "most": most}
        )
    return Said("{kind} of at most {most} characters", {"kind": kind, "most": most})


def _range(low: float, high: float, unit: str, *, whole: bool) -> Said:
    ends: dict[str, Value] = {"low": _number(low), "high": _number(high)}
    if not unit:
        return Said("a whole number, {low} to {high}" if whole else "{low} to {high}", ends)
    return Said(
        "a whole number, {low} to {high} {unit}" if whole else "{low} to {high} {unit}",
        {**ends, "unit": Said(unit)},
    )


def _number(value: float) -> str:
    """A limit in digits, never as a power of ten."""
    return f"{value:.0f}" if float(value).is_integer() else f"{value:g}"


def allowed_values(node: Mapping[str, Any]) -> str:
    """What a field takes, as it is written in TOML: text stands in quotation marks.

    Parameters
    ----------
    node : Mapping
        Part of a JSON Schema.

    Returns
    -------
    str

    Examples
    --------
    >>> allowed_values({"enum": ["left", "right"]})
    '"left", "right"'
    """
    if "enum" in node:
        return ", ".join(json.dumps(value, ensure_ascii=False) for value in node["enum"])
    if "const" in node:
        return json.dumps(node["const"], ensure_ascii=False)
    return _allowed(node).text


def _unit_advice(node: Mapping[str, Any], received: Any) -> Said:
    """What to do; a length typed in millimetres, inches or metres is recognised."""
    low, high = node.get("minimum"), node.get("maximum")
    if node.get("unit") != "cm" or low is None or high is None:
        return _CORRECT_IT
    if not isinstance(received, int | float) or isinstance(received, bool):
        return _CORRECT_IT
    # An integer of a document can be larger than any float.
    if abs(received) <= _MM_PER_CM * high:
        for unit, cm_per_unit, form in _OTHER_UNITS:
            if low <= received * cm_per_unit <= high:
                cm = f"{received * cm_per_unit:{form}}"
                return Said("this looks like {unit}, give {cm} cm", {"unit": unit, "cm": cm})
    return Said("measure it again")


def nearest(name: str, known: Sequence[str]) -> Said:
    """Advice on an unknown name: the closest known one, or all of them.

    Parameters
    ----------
    name : str
        What was given.
    known : sequence of str
        What there is.

    Returns
    -------
    Said

    Examples
    --------
    >>> nearest("ankel", ["ankle", "calf"]).text, nearest("x", ["ankle", "calf"]).text
    ('did you mean ankle?', 'expected one of ankle, calf')
    """
    close = difflib.get_close_matches(name, known, n=1)
    if close:
        return Said("did you mean {name}?", {"name": close[0]})
    if not known:
        return Said("remove it")
    return Said("expected one of {names}", {"names": ", ".join(known)})


def _readable(line: str) -> str:
    """A line that a terminal can show, however odd the names and texts in it.

    The end stays: it says what to do.
    """
    if len(line) > _LONGEST_LINE:
        line = f"{line[: _LONGEST_LINE // 2]} … {line[-_LONGEST_LINE // 3 :]}"
    return "".join(
        sign if sign.isprintable() or sign == "\n" else ascii(sign)[1:-1] for sign in line
    )


def echo(value: Any) -> str:
    """A value as a sentence repeats it: text in quotation marks, and nothing at length.

    Parameters
    ----------
    value : object
        What was given.

    Returns
    -------
    str

    Examples
    --------
    >>> echo(26.5), echo("tight"), len(echo("x" * 5000))
    ('26.5', "'tight'", 61)
    """
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= _LONGEST_ECHO else text[:_LONGEST_ECHO] + "…"


def _shortened(path: str) -> str:
    """A dotted path of which no part is a document of its own."""
    most = _LONGEST_ECHO
    return ".".join(part if len(part) <= most else part[:most] + "…" for part in path.split("."))
