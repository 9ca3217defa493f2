"""Technique: one's own, and everybody's for a prescriber."""

import pytest
from django.urls import reverse

from gaiter.records.models import Role
from tests.clinic import attempt_of

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
