"""Documents in whatever form a program has them: path, text, mapping or record."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from gaiter.core.errors import InputError
from gaiter.core.policy import Policy
from gaiter.files.document_file import read_document
from gaiter.files.policy_file import read_policy, shipped_policy
from gaiter.files.text_file import mapping_in
from gaiter.files.wording import FileError, problems_of

Given = str | os.PathLike[str] | Mapping[str, Any]

Document = TypeVar("Document", bound=BaseModel)


def is_text(given: object) -> bool:
    r"""Whether this is the text of a document and no path: it has a line break or opens a table.

    >>> is_text("case.toml"), is_text('{"schema": "gaiter.case/1"}'), is_text("a = 1\n")
    (False, True, True)
    """
    return isinstance(given, str) and ("\n" in given or given.lstrip().startswith("{"))


def document_from(given: Given | Document, kind: type[Document], name: str) -> Document:
    """The document of this kind in a path, a text, a mapping or a record.

    Parameters
    ----------
    given : str, path, mapping or record
        A path as str or Path; TOML or JSON text; a mapping as such a text parses; the record.
    kind : type
        Record of the document.
    name : str
        What the document is called in messages.

    Raises
    ------
    InputError
        With every problem in words.
    """
    if isinstance(given, kind):
        return given
    if isinstance(given, str) and is_text(given):
        given = mapping_in(given, name)
    if isinstance(given, Mapping):
        try:
            return kind.model_validate(dict(given))
        except ValidationError as error:
            raise FileError(name, problems_of(error, kind)) from error
    return read_document(path_from(given, name), kind)


def path_from(given: object, name: str) -> Path:
    """A path given as str or Path.

    Raises
    ------
    InputError
        If it is neither.
    """
    if isinstance(given, str | os.PathLike):
        return Path(given)
    raise InputError(
        f"{name} must be a path, TOML or JSON text, a mapping or the record itself; received "
        f"{type(given).__name__}: give one of these"
    )


def policy_from(given: str | os.PathLike[str] | Policy | None) -> Policy:
    """The shipped policy, a clinic's own file laid over it, or a policy as it is.

    Raises
    ------
    InputError
        With every problem in words.
    """
    if given is None:
        return shipped_policy()
    return given if isinstance(given, Policy) else read_policy(path_from(given, "policy"))
