"""The legs of a cohort, and the case that stands for one of them in a study."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from gaiter.core.case import (
    Arms,
    Arterial,
    Bandager,
    Case,
    Findings,
    Leg,
    Mobility,
    Person,
    Purpose,
    Sex,
    ToeColour,
    Toes,
    Training,
    Waveform,
)
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety import none_present, one_press_paths

ASSUMPTIONS = (
    "Arteries, skin and findings are assumed sound: a study decides nothing about any person.",
    "Every leg is planned as a right leg of a person who walks; left legs are mirror images.",
    "All materials of the catalogue are taken as there, generic, each roll new.",
)

# Any day does: the test is of the same day, and a study has no visit.
_DAY = date(2026, 1, 1)
_AGE_YEARS = 60
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

    Examples
    --------
    >>> CohortLeg("17", None, None, reason="no ankle girth").leg is None
    True
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

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> leg = Leg(
    ...     purpose=Purpose.SUPPORT,
    ...     girth_cm={"metatarsal_heads": 23.5, "ankle": 22.5, "calf": 37, "below_knee": 34},
    ...     position_cm={"ankle": 12, "calf": 31, "below_knee": 39},
    ... )
    >>> case = case_for(leg, None, Purpose.OEDEMA, Training.TRAINED, shipped_policy())
    >>> case.invented, case.legs[Side.RIGHT].purpose.value
    (True, 'oedema')
    """
    index = _SOUND_INDEX
    if purpose is Purpose.MIXED_DISEASE:
        index = (policy["ankle_brachial_stop_below"] + policy["ankle_brachial_full_from"]) / 2
    studied = leg.model_copy(
        update={
            "purpose": purpose,
            "start": "full",
            "arterial": Arterial(
                dorsalis_pedis_mmhg=index * _ARM_MMHG,
                posterior_tibial_mmhg=index * _ARM_MMHG,
                waveform=Waveform.TRIPHASIC,
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
            age_years=_AGE_YEARS,
            sex=sex,
            mobility=Mobility.WALKS,
            diabetes=False,
            kidney_disease=False,
            rheumatoid_arthritis=False,
            heart_failure_class=0,
            heart_failure_decompensated=False,
            breathless_lying=False,
            weight_gain_kg=0.0,
            can_report_pain=True,
            allergies=(),
        ),
        arms=Arms(left_mmhg=_ARM_MMHG, right_mmhg=_ARM_MMHG),
        legs={Side.RIGHT: studied},
        bandager=Bandager(training=training),
    )


_FINDINGS = "leg.findings."


def _sound_findings(purpose: Purpose) -> Findings:
    """Everything that one press answers "none present", and what was looked at and found sound."""
    found: dict[str, Any] = {
        "absent_monofilament_sites": 0,
        "toes": Toes(
            colour=ToeColour.SAME,
            refill="within 2 to 3 seconds",
            warmth="warm",
            feeling="every toe",
            movement="every toe",
        ),
        "pain_now": 0,
        "sprain": purpose is Purpose.SUPPORT,
    }
    for path in one_press_paths():
        if path.startswith(_FINDINGS):
            *tables, name = path.removeprefix(_FINDINGS).split(".")
            table = found
            for key in tables:
                table = table.setdefault(key, {})
            table[name] = none_present(path)
    return Findings.model_validate(found)
