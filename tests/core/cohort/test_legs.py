import pytest

from gaiter.core.case import Purpose, Sex, Training
from gaiter.core.cohort.legs import case_for
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety import Outcome, decide
from tests.strategies import case


@pytest.mark.parametrize("purpose", list(Purpose))
def test_sound_findings_allow_what_the_purpose_asks(purpose: Purpose, policy: Policy) -> None:
    """Full compression, except mixed disease: the arteries then allow the reduced maximum."""
    leg = case().legs[Side.RIGHT]
    made = case_for(leg, Sex.FEMALE, purpose, Training.TRAINED, policy)
    decision = decide(made, policy).legs[Side.RIGHT]
    mixed = purpose is Purpose.MIXED_DISEASE
    assert decision.outcome is (Outcome.REDUCED if mixed else Outcome.FULL)
    light = {Purpose.PALLIATIVE: 30, Purpose.SUPPORT: 30, Purpose.MIXED_DISEASE: 40}
    assert decision.maximum_mmhg == light.get(purpose, 60)


def test_the_tape_is_kept_and_the_case_says_that_it_is_invented(policy: Policy) -> None:
    leg = case().legs[Side.RIGHT]
    made = case_for(leg, None, Purpose.OEDEMA, Training.UNTRAINED, policy)
    studied = made.legs[Side.RIGHT]
    assert (studied.girth_cm, studied.position_cm) == (leg.girth_cm, leg.position_cm)
    assert studied.purpose is Purpose.OEDEMA
    assert made.bandager.training is Training.UNTRAINED
    assert made.invented
