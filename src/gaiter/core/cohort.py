"""The legs of a cohort, and the case that stands for one of them in a study."""

from dataclasses import dataclass
from datetime import date

from gaiter.core.case import (
    Arms,
    Arterial,
    Bandager,
    Bypass,
    Case,
    Clot,
    ClotState,
    Findings,
    Infection,
    Leg,
    Mobility,
    Person,
    Purpose,
    Sex,
    Training,
)
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy

ASSUMPTIONS = (
    "Arteries, skin and findings are assumed sound: a study decides nothing about any person.",
    "Every leg is planned as a right leg of a person who walks; left legs are mirror images.",
    "All materials of the catalogue are taken as there, generic, each roll new.",
)

# Any day does: the test is of the same day, and a study has no visit.
_DAY = date(2026, 1, 1)
_ARM_MMHG = 160.0
# Between the indices that are normal under every policy that is allowed.
_SOUND_INDEX = 1.05


@dataclass(frozen=True)
class CohortLeg:
    """One leg of a cohort.

    Attributes
    ----------
    name : str
        What the cohort calls it.
    sex : Sex or None
        Only chooses the regression for what was not measured.
    leg : Leg or None
        Its tape measurements [cm]; None where they cannot be those of a leg.
    estimated : tuple[str, ...]
        What of ``leg`` was derived, not measured.
    reason : str
        Why ``leg`` is None.
    """

    name: str
    sex: Sex | None
    leg: Leg | None
    estimated: tuple[str, ...] = ()
    reason: str = ""


def case_for(
    leg: Leg, sex: Sex | None, purpose: Purpose, training: Training, policy: Policy
) -> Case:
    """A case of one leg with sound findings, for a study and nothing else.

    Parameters
    ----------
    leg : Leg
        Tape measurements; purpose, arteries and findings are replaced.
    sex, purpose, training
        As in a case.
    policy : Policy
        For mixed disease its bands set the ankle index that allows reduced compression.

    Returns
    -------
    Case
        Marked as invented.
    """
    index = _SOUND_INDEX
    if purpose is Purpose.MIXED_DISEASE:
        index = (policy["ankle_brachial_stop_below"] + policy["ankle_brachial_full_from"]) / 2
    studied = leg.model_copy(
        update={
            "purpose": purpose,
            "arterial": Arterial(
                dorsalis_pedis_mmhg=index * _ARM_MMHG,
                posterior_tibial_mmhg=index * _ARM_MMHG,
                measured_on=_DAY,
                rested_min=60.0,
                lying_flat=True,
            ),
            "findings": _sound_findings(purpose),
        }
    )
    return Case(
        document="gaiter.case/1",
        today=_DAY,
        invented=True,
        person=Person(
            sex=sex,
            mobility=Mobility.WALKS,
            diabetes=False,
            kidney_disease=False,
            heart_failure_class=0,
            breathless_lying=False,
            can_report_pain=True,
            allergies=(),
        ),
        arms=Arms(left_mmhg=_ARM_MMHG, right_mmhg=_ARM_MMHG),
        legs={Side.RIGHT: studied},
        bandager=Bandager(training=training),
    )


def _sound_findings(purpose: Purpose) -> Findings:
    return Findings(
        rest_pain=False,
        new_pain=False,
        colour_change=False,
        acute_ischaemia=False,
        gangrene=False,
        sepsis=False,
        infection=Infection.NONE,
        clot=Clot(state=ClotState.NONE),
        bypass=Bypass.NONE,
        absent_monofilament_sites=0,
        sprain=purpose is Purpose.SUPPORT,
        stable=True,
    )
