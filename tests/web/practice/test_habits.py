"""Technique: one's own, and everybody's for a prescriber."""

import pytest
from django.urls import reverse

from gaiter.core.applied.document import TAKEN_VERSION
from gaiter.records.models import AppliedRecord, Bandaging, Role
from tests.clinic import attempt_of
from tests.records.models.rows import made

pytestmark = pytest.mark.long


def test_technique_is_ones_own_and_a_prescriber_sees_everybodys(clinic, signed_in) -> None:
    for _ in range(4):
        attempt_of(clinic.actor(Role.LEARNER), -0.4)
    own = signed_in("learner").get(reverse("technique")).content.decode()
    assert "too loose" in own
    assert "Invented bandager" not in own
    everybody = signed_in("prescriber").get(reverse("technique")).content.decode()
    assert "too loose" in everybody
    assert "Invented bandager" in everybody
    assert "No reading of this clinic" in everybody


def test_the_sensors_sites_are_told_apart(clinic, signed_in) -> None:
    """An ankle that reads little beside its gaiter says nothing of the clinic's level."""
    for _ in range(5):
        made(
            AppliedRecord, bandaging=made(Bandaging), hands=[], system="paste",
            taken=TAKEN_VERSION, sensor=[-0.1, 0.05, 1, {"ankle": [-0.3, 0.1]}],
        )  # fmt: skip
    page = signed_in("bandager").get(reverse("technique")).content.decode()
    assert "from 5 values on 5 bandages" in page
    assert "At the ankle this clinic&#x27;s sensor reads 0." in page
    assert "legs 5, bandages 5" in page
