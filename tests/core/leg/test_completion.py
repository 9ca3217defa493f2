import pytest

from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.completion import complete_measurements
from tests.strategies import case


def leg(**changes):
    return case(**{f"legs.right.{path}": value for path, value in changes.items()}).legs["right"]


def test_what_was_measured_is_kept() -> None:
    done = complete_measurements(leg())
    assert done.measurements.estimated == ()
    assert done.measurements.girth_cm[Landmark.GAITER] == 27.0
    assert done.questions == ()


def test_what_was_not_measured_is_estimated_and_marked() -> None:
    done = complete_measurements(
        leg(**{"girth_cm.heel_instep": None, "girth_cm.gaiter": None, "foot_length_cm": None}),
        Sex.FEMALE,
    )
    assert set(done.measurements.estimated) == {
        "girth_cm.heel_instep", "girth_cm.gaiter", "foot_length_cm",
    }  # fmt: skip
    # Published regression of women: 16.72 + 0.663 * 22.5 (Gordon et al. 2014).
    assert done.measurements.girth_cm[Landmark.HEEL_INSTEP] == pytest.approx(31.64, abs=0.01)
    assert 22.5 < done.measurements.girth_cm[Landmark.GAITER] < 37.0


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("girth_cm.calf", 48.0, "calf girth 48 cm is large for an ankle of 22.5 cm"),
        ("girth_cm.heel_instep", 42.0, "heel–instep girth 42 cm is large"),
        ("girth_cm.metatarsal_heads", 18.0, "girth at the metatarsal heads 18 cm is small"),
        ("position_cm.metatarsal_heads", 24.0, "do not fit a foot of 25 cm"),
        ("girth_cm.gaiter", 39.0, "gaiter girth 39 cm lies outside"),
        ("girth_cm.below_knee", 37.5, "below-knee girth 37.5 cm is larger than the calf's 37 cm"),
    ],
)
def test_wild_entries_are_questioned_by_name(path: str, value: float, words: str) -> None:
    questions = complete_measurements(leg(**{path: value})).questions
    assert any(words in question for question in questions), questions


def test_after_a_forefoot_amputation_the_bandage_starts_at_the_instep() -> None:
    done = complete_measurements(
        leg(**{"girth_cm.metatarsal_heads": None, "findings.forefoot_amputation": True})
    )
    assert done.measurements.start is Landmark.INSTEP
