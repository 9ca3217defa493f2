"""Reads the shipped policy and a clinic's own."""

import hashlib
import tomllib
from importlib import resources
from pathlib import Path

from gaiter.core.policy import Policy, overlaid


def shipped_policy() -> Policy:
    """The policy that comes with the program."""
    raw = resources.files("gaiter.data").joinpath("policy.toml").read_bytes()
    mapping = tomllib.loads(raw.decode())
    return Policy.model_validate({**mapping, "sha256": hashlib.sha256(raw).hexdigest()})
