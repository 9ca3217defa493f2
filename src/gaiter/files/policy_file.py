"""Reads the shipped policy and a clinic's own."""

import hashlib
import tomllib
from importlib import resources
from pathlib import Path

from pydantic import ValidationError

from gaiter.core.policy import Policy, overlaid
from gaiter.files.document_file import require_kind
from gaiter.files.text_file import name_of, parsed_file
from gaiter.files.wording import FileError, problems_of


def shipped_policy() -> Policy:
    """The policy that comes with the program."""
    raw = resources.files("gaiter.data").joinpath("policy.toml").read_bytes()
    mapping = tomllib.loads(raw.decode())
    return Policy.model_validate({**mapping, "sha256": hashlib.sha256(raw).hexdigest()})


def read_policy(path: Path) -> Policy:
    """The shipped policy with a clinic's file over it.

    Raises
    ------
    FileError
        With every problem in words.
    """
    parsed = parsed_file(path)
    require_kind(parsed.mapping, "policy", name_of(path))
    try:
        return overlaid(shipped_policy(), parsed.mapping, parsed.sha256)
    except ValidationError as error:
        raise FileError(name_of(path), problems_of(error, Policy)) from error
