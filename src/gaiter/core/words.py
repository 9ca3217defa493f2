"""What is said: one template with its values, so that a language is a catalogue.

A reason, a headline or an instruction is kept as its code, its English template and the values
that fill it. The template is the *msgid* of gettext: whoever shows it in another language looks
the template up and fills it with the same values, words among them translated in turn.

What is a plain string among the values stands as it is in every language: a name, what somebody
typed, a number already written out. A word of ours is a :class:`Said`.

>>> said = Said("At most {cap:g} mmHg: {why}.", {"cap": 40.0, "why": Said("fragile skin")})
>>> said.text
'At most 40 mmHg: fragile skin.'
>>> german = {"At most {cap:g} mmHg: {why}.": "Höchstens {cap:g} mmHg: {why}.",
...           "fragile skin": "verletzliche Haut"}
>>> said.told(lambda msgid: german.get(msgid, msgid))
'Höchstens 40 mmHg: verletzliche Haut.'
>>> Several((Said("toes cold"), Said("toes do not move")), capital=True).told(str)
'Toes cold, toes do not move'
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from string import Formatter
from typing import Annotated, Any, Self, Union

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    TypeAdapter,
    model_validator,
)

Translate = Callable[[str], str]
"""From a template to the same in the reader's language; what it does not know it gives back."""

COMMA, SEMICOLON = "{first}, {second}", "{first}; {second}"
AND, OR = "{first} and {second}", "{first} or {second}"
"""How words stand in a row."""

THEN = "{first} {second}"
"""One sentence after another."""

_BELOW = "{first}\n{second}"

# A width would let a document ask for any amount of memory.
_FORMAT = re.compile(r"(\.\d)?[a-z%]?")


@dataclass(frozen=True)
class Several:
    """Some words in a row.

    Attributes
    ----------
    items : tuple[Said, ...]
        At least one.
    joint : str
        Template of two of them, ``first`` and ``second``.
    capital : bool
        Whether they begin a sentence.
    """

    __pydantic_config__ = ConfigDict(extra="forbid")

    items: tuple["Said", ...]
    joint: str = COMMA
    capital: bool = False

    def __post_init__(self) -> None:
        if not self.items:
            raise ValueError("words in a row must be at least one; received none: say one")
        if _names(self.joint) != frozenset({"first", "second"}):
            raise ValueError(
                f"a joint must name first and second; received {self.joint!r}: correct it"
            )

    def told(self, translate: Translate) -> str:
        """The words in the language of ``translate``.

        Parameters
        ----------
        translate : callable
            From a template to the same in the reader's language.

        Returns
        -------
        str

        Examples
        --------
        >>> Several((Said("toes cold"), Said("toes white")), capital=True).told(str)
        'Toes cold, toes white'
        """
        told, *rest = (item.told(translate) for item in self.items)
        for second in rest:
            told = _filled(self.joint, {"first": told, "second": second}, translate)
        return told[:1].upper() + told[1:] if self.capital else told


Value = Union[str, int, float, "Said", Several]
"""What fills the braces of a template."""


@dataclass(frozen=True)
class Said:
    """A sentence, a headline or a word: template and values.

    Attributes
    ----------
    template : str
        English, with braces that the values fill; without values it is the text itself.
    values : Mapping[str, Value]
        By the names in the braces. Numbers are written as the template's formats say.
    code : str
        What machines know it by; empty for a word inside another.
    """

    __pydantic_config__ = ConfigDict(extra="forbid")

    template: str
    values: Mapping[str, Value] = field(default_factory=dict)
    code: str = ""

    def __post_init__(self) -> None:
        if not self.values:
            return
        names = _names(self.template)
        if names is None or not names <= self.values.keys():
            raise ValueError(
                f"a template must name values that it has ({', '.join(self.values)}); received "
                f"{self.template!r}: correct it"
            )

    @property
    def text(self) -> str:
        """The English sentence.

        Returns
        -------
        str

        Examples
        --------
        >>> Said("{n} turns", {"n": 3}, "turns").text
        '3 turns'
        """
        return self.told(str)

    def __str__(self) -> str:
        return self.text

    def __bool__(self) -> bool:
        return bool(self.template)

    def __contains__(self, words: str) -> bool:
        return words in self.text

    def told(self, translate: Translate) -> str:
        """The sentence in the language of ``translate``.

        Parameters
        ----------
        translate : callable
            From a template to the same in the reader's language.

        Returns
        -------
        str
            In English where the translation would leave a value out.

        Examples
        --------
        >>> Said("{n} turns", {"n": 3}).told({"{n} turns": "{n} Touren"}.get)
        '3 Touren'
        """
        return _filled(self.template, self.values, translate)


NOTHING = Said("")
"""Where there is nothing to say."""

_PARTS: TypeAdapter[Said] = TypeAdapter(Said)


class WrittenSaid(BaseModel):
    """What was said as a document holds it: the English text beside what it is made of.

    Raises
    ------
    ValueError
        If the text is not the template with its values.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    template: str
    values: Mapping[str, Value] = Field(default_factory=dict)
    code: str = ""
    # Checks kept before there was a text beside it have none.
    text: str | None = None

    @property
    def said(self) -> Said:
        """For any language.

        Returns
        -------
        Said

        Examples
        --------
        >>> WrittenSaid(template="pulled on").said.code
        ''
        """
        return Said(self.template, self.values, self.code)

    @model_validator(mode="after")
    def _says_what_its_template_says(self) -> Self:
        if self.text is not None and self.said.text != self.text:
            raise ValueError(
                f"a text must say what its template and values say, {self.said.text!r}; received "
                f"{self.text!r}: plan anew"
            )
        return self


def as_document(said: Said) -> Any:
    """What was said as JSON holds it; a bare text where there is nothing to fill in.

    Parameters
    ----------
    said : Said
        What was said.

    Returns
    -------
    str or dict
        A text, or the text with its template, values and code.

    Examples
    --------
    >>> as_document(Said("Toes feel: cold"))
    'Toes feel: cold'
    >>> as_document(Said("{n} turns", {"n": 3}))
    {'text': '3 turns', 'template': '{n} turns', 'values': {'n': 3}}
    """
    if not said.values and not said.code:
        return said.template
    parts = {key: part for key, part in _PARTS.dump_python(said, mode="json").items() if part}
    return {"text": said.text, **parts}


def from_document(kept: Any) -> Said:
    """What was said, from JSON; a text kept before there were templates is its own template.

    Parameters
    ----------
    kept : object
        As :func:`as_document` gives it, or a plain text.

    Returns
    -------
    Said

    Raises
    ------
    pydantic.ValidationError
        If it is neither, or its text is not its template with its values.

    Examples
    --------
    >>> from_document(as_document(Said("{n} turns", {"n": 3}))).text
    '3 turns'
    >>> from_document("Toes feel: cold").text
    'Toes feel: cold'
    """
    if isinstance(kept, Said):
        return kept
    return Said(kept) if isinstance(kept, str) else WrittenSaid.model_validate(kept).said


Sentence = Annotated[
    Said,
    BeforeValidator(from_document, json_schema_input_type=str | WrittenSaid),
    PlainSerializer(as_document),
]
"""What is said, as a field of a document."""


def joined(said: Iterable[Said], joint: str = COMMA) -> Said:
    """One sentence of some in a row; nothing where there is none.

    Parameters
    ----------
    said : iterable of Said
        In their order.
    joint : str
        Template of two of them, ``first`` and ``second``.

    Returns
    -------
    Said

    Examples
    --------
    >>> joined([Said("{n} turns", {"n": 3}), Said("herringbone")]).text
    '3 turns, herringbone'
    >>> joined([]).text
    ''
    """
    told = NOTHING
    for second in said:
        told = Said(joint, {"first": told, "second": second}) if told else second
    return told


def in_lines(said: Iterable[Said]) -> Said:
    r"""Sentences below each other; nothing where there is none.

    Parameters
    ----------
    said : iterable of Said
        In their order.

    Returns
    -------
    Said

    Examples
    --------
    >>> in_lines([Said("toes cold"), Said("toes white")]).text
    'toes cold\ntoes white'
    """
    lines = tuple(said)
    return Said("{lines}", {"lines": Several(lines, _BELOW)}) if lines else NOTHING


def sourced(text: Said, source: Said) -> Said:
    """A reason with its source behind it.

    Parameters
    ----------
    text, source : Said
        The reason, and where it comes from.

    Returns
    -------
    Said

    Examples
    --------
    >>> sourced(Said("light support"), Said("our choice")).text
    'light support (our choice)'
    """
    return Said("{reason} ({source})", {"reason": text, "source": source})


def words(texts: Iterable[str], joint: str = COMMA, *, capital: bool = False) -> Several:
    """Words of ours in a row.

    Parameters
    ----------
    texts : iterable of str
        Words of ours, at least one.
    joint : str
        Template of two of them, ``first`` and ``second``.
    capital : bool
        Whether they begin a sentence.

    Returns
    -------
    Several

    Examples
    --------
    >>> words(["an arm", "an ankle"], AND).told(str)
    'an arm and an ankle'
    """
    return Several(tuple(map(Said, texts)), joint, capital)


def _filled(template: str, values: Mapping[str, Value], translate: Translate) -> str:
    """The translated template with its values.

    A translation that names other values is not used: what it leaves out may be the number that
    a leg depends on.
    """
    found = translate(template)
    if not values:
        return found
    told = {
        name: value.told(translate) if isinstance(value, Said | Several) else value
        for name, value in values.items()
    }
    if _names(found) == _names(template):
        try:
            return found.format(**told)
        except (ValueError, TypeError):
            pass
    return template.format(**told)


def _names(template: str) -> frozenset[str] | None:
    """Names in the braces of a template; None where it is none of ours."""
    found = set()
    try:
        for _text, name, form, turn in Formatter().parse(template):
            if name is None:
                continue
            if turn or not name.isidentifier() or not _FORMAT.fullmatch(form or ""):
                return None
            found.add(name)
    except ValueError:
        return None
    return frozenset(found)
