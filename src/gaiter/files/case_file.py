"""Reads a case, ``gaiter.case/1``."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from gaiter.core.case import Case, SafetyCase
from gaiter.files.document_file import read_document
from gaiter.files.wording import FileError, problems_of


def read_case(path: Path) -> Case:
    """The case in a TOML or JSON file.

    Raises
    ------
    FileError
        With every problem in words.
    """
    return read_document(path, Case)


def case_from_mapping(mapping: Mapping[str, Any], name: str = "case") -> Case:
    """The case in a parsed document; ``name`` stands in the messages."""
    try:
        return Case.model_validate(mapping)
    except ValidationError as error:
        raise FileError(name, problems_of(error, Case)) from error


def read_safety_case(path: Path) -> SafetyCase:
    """Whatever a TOML or JSON file knows of a person; enough for the safety decision.

    Raises
    ------
    FileError
        With every problem in words.
    """
    return read_document(path, SafetyCase)


def safety_case_from_mapping(mapping: Mapping[str, Any], name: str = "case") -> SafetyCase:
    """Whatever a parsed document knows; ``name`` stands in the messages."""
    try:
        return SafetyCase.model_validate(mapping)
    except ValidationError as error:
        raise FileError(name, problems_of(error, SafetyCase)) from error
