"""Deterministic property tests, a stopped clock and the documents that many tests need."""

import json
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
import time_machine
from django.conf import settings as django_settings
from hypothesis import HealthCheck, settings

from gaiter.core.fabric import Catalogue
from gaiter.core.policy import Policy
from gaiter.core.spread import sums
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests import template_fields

settings.register_profile(
    "gaiter", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("gaiter")

# Keys of the tests' own; hashing a password slowly is tested where it matters.
django_settings.GAITER_KEY_RING = {
    "keys": {"1": bytes(range(32)), "2": bytes(range(1, 33))},
    "current": "1",
    "index": bytes(range(2, 34)),
}
django_settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

template_fields.watch()

_REFERENCE = Path(__file__).parent / "reference"


def reference(name: str) -> dict:
    """Published numbers of one source."""
    return json.loads((_REFERENCE / f"{name}.json").read_text())


def pytest_ignore_collect(collection_path):
    """Reads ``followed_steps.py`` only in the copy in which the step lists were followed."""
    followed = os.environ.get("GAITER_STEPS_FOLLOWED")
    return True if collection_path.name == "followed_steps.py" and not followed else None


@pytest.fixture(scope="session")
def policy() -> Policy:
    return shipped_policy()


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return shipped_catalogue()


# A Wednesday morning; time goes on from there, so that what comes later has a later moment.
MORNING = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def morning(request):
    """No test reads the real clock, but those that share one with a browser."""
    if "browser" in request.path.parts:
        yield
        return
    with time_machine.travel(MORNING, tick=True):
        yield


@pytest.fixture(autouse=True, scope="session")
def emptied_past_the_triggers():
    """A test with transactions of its own empties every table, which the database refuses."""
    from django.test import TransactionTestCase  # once the project is configured

    from gaiter.records.append_only import lifted

    emptied = TransactionTestCase._fixture_teardown

    def teardown(self):
        with lifted():
            emptied(self)

    TransactionTestCase._fixture_teardown = teardown
    yield
    TransactionTestCase._fixture_teardown = emptied


@pytest.fixture(autouse=True)
def template_fields_are_there():
    """No page that a test opened asked for a field that is not there."""
    template_fields.ASKED_IN_VAIN.clear()
    yield
    assert template_fields.ASKED_IN_VAIN == []


@pytest.fixture(scope="session")
def compiled_sums():
    """The clinic's server sums with compiled loops, and so do the tests of its pages."""
    sums.load(threads=1)


@pytest.fixture
def clinic(db, compiled_sums):
    """One clinic with one filled visit."""
    from tests.clinic import small_clinic  # models need a configured project

    made = small_clinic()
    made.fill()
    return made


@pytest.fixture
def signed_in(clinic, client):
    """A browser signed in as a role."""

    def as_role(role: str):
        client.force_login(
            clinic.accounts[role], backend="django.contrib.auth.backends.ModelBackend"
        )
        return client

    return as_role
