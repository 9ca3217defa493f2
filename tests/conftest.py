"""Deterministic property tests and the documents that many tests need."""

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from gaiter.core.material import Catalogue
from gaiter.core.policy import Policy
from gaiter.exchange.catalogue_file import shipped_catalogue
from gaiter.exchange.policy_file import shipped_policy

settings.register_profile(
    "gaiter", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("gaiter")

_REFERENCE = Path(__file__).parent / "reference"


def reference(name: str) -> dict:
    """Published numbers of one source."""
    return json.loads((_REFERENCE / f"{name}.json").read_text())


@pytest.fixture(scope="session")
def policy() -> Policy:
    return shipped_policy()


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return shipped_catalogue()
