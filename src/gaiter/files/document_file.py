"""Reads any of the documents from a TOML or JSON file."""

from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from gaiter.files.text_file import parsed_file
from gaiter.files.wording import FileError, problems_of

Document = TypeVar("Document", bound=BaseModel)


def read_document(path: Path, kind: type[Document]) -> Document:
    """The document of this kind in a file.

    Parameters
    ----------
    path : Path
        TOML or JSON.
    kind : type
        Its record.

    Raises
    ------
    FileError
        With every problem in words.
    """
    try:
        return kind.model_validate(parsed_file(path).mapping)
    except ValidationError as error:
        raise FileError(path.name, problems_of(error, kind)) from error
