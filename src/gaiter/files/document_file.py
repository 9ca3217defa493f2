"""Reads any of the documents from a TOML or JSON file, and knows one kind from another."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from gaiter.core.words import Said
from gaiter.files.text_file import mapping_in, name_of, parsed_file
from gaiter.files.wording import FileError, Problem, problems_of

Document = TypeVar("Document", bound=BaseModel)

# What each kind of document is called, by its schema without the version.
NAMES: Mapping[str, str] = {
    "gaiter.case": "a case",
    "gaiter.plan": "a plan",
    "gaiter.bench": "a bench test",
    "gaiter.readings": "a set of readings",
    "gaiter.applied": "a bandage as applied",
    "gaiter.study": "the description of a study",
    "gaiter.systems": "a list of bandage systems",
    "policy": "a policy",
    "prices": "a list of prices",
}
# Documents without a schema are known by what they must hold.
_KNOWN_BY: Mapping[str, frozenset[str]] = {
    "policy": frozenset({"name", "version"}),
    "prices": frozenset({"currency", "roll"}),
}


def read_document(path: Path, kind: type[Document]) -> Document:
    """The document of this kind in a file.

    Parameters
    ----------
    path : Path
        TOML or JSON; ``-`` is standard input.
    kind : type
        Its record.

    Raises
    ------
    FileError
        With every problem in words; of a document of another kind, only that.
    """
    mapping = parsed_file(path).mapping
    require_kind(mapping, _kind_of_record(kind), name_of(path))
    try:
        return kind.model_validate(mapping)
    except ValidationError as error:
        raise FileError(name_of(path), problems_of(error, kind)) from error


def require_kind(mapping: Mapping[str, Any], wanted: str, name: str) -> None:
    """Refuses a document of another kind in one sentence.

    Parameters
    ----------
    mapping : Mapping
        What a file holds.
    wanted : str
        One of the keys of ``NAMES``.
    name : str
        How the file is called.

    Raises
    ------
    FileError
        Naming what it is and what is wanted. What it is cannot always be told; then it passes.
    """
    found = kind_of(mapping)
    if found is not None and found != wanted:
        raise FileError(name, [Problem("", _is_another(found, Said(NAMES[wanted])))])


def kind_of(mapping: Mapping[str, Any]) -> str | None:
    """Which kind of document this is, None where it cannot be told."""
    schema = mapping.get("schema")
    if isinstance(schema, str):
        kind = schema.partition("/")[0]
        return kind if kind in NAMES else None
    return next((kind for kind, keys in _KNOWN_BY.items() if keys <= mapping.keys()), None)


def require_lines(text: str, wanted: Said, name: str) -> None:
    """Refuses a document where a table of lines is wanted, such as a cohort or a sensor's log.

    Raises
    ------
    FileError
        Naming what it is and what is wanted.
    """
    try:
        found = kind_of(mapping_in(text, name))
    except FileError:
        return  # no document at all
    if found is not None:
        raise FileError(name, [Problem("", _is_another(found, wanted))])


def _is_another(found: str, wanted: Said) -> Said:
    return Said(
        "this is {found}; {wanted} is wanted", {"found": Said(NAMES[found]), "wanted": wanted}
    )


def _kind_of_record(kind: type[BaseModel]) -> str:
    """The kind of a record, from the schema that it insists on."""
    (schema,) = get_args(kind.model_fields["document"].annotation)
    return str(schema).partition("/")[0]
