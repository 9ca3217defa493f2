"""Who opens pages, and a bandage that is on."""

from datetime import timedelta

import pytest


@pytest.fixture
def nurse(signed_in):
    return signed_in("bandager")


@pytest.fixture
def bandaging(clinic):
    """The bandage of the open visit, by an approved plan, off by tomorrow."""
    from gaiter.records.actions.plans import record_bandaging  # models need a configured project

    day = clinic.visit.day + timedelta(days=1)
    return record_bandaging(clinic.actor(), clinic.visit, clinic.approved(), day)
