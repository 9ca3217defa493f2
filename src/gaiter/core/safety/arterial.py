"""Arterial numbers: indices from cuff pressures.

ABI and ABPI are the same thing: the better of a foot's two ankle pressures over the higher arm.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from gaiter.core.case import Arms, Arterial


def rounded_index(numerator_mmhg: float, denominator_mmhg: float) -> float:
    """Ratio of two pressures rounded half up to two decimals, once.

    Examples
    --------
    >>> rounded_index(84, 128), rounded_index(124, 140)
    (0.66, 0.89)
    """
    ratio = Decimal(str(numerator_mmhg)) / Decimal(str(denominator_mmhg))
    return float(ratio.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP))


@dataclass(frozen=True)
class ArterialNumbers:
    """Pressures and indices of one leg; None where a part was not measured.

    Attributes
    ----------
    arm_mmhg : float or None
        Higher of the two arms [mmHg].
    ankle_mmhg : float or None
        Better of the two ankle arteries [mmHg].
    toe_mmhg, tcpo2_mmhg : float or None
        Toe pressure and transcutaneous oxygen pressure [mmHg].
    ankle_brachial, toe_brachial : float or None
        Indices, two decimals.
    arm_difference_mmhg : float or None
        Difference between the arms [mmHg]; None with one arm.
    """

    arm_mmhg: float | None
    ankle_mmhg: float | None
    toe_mmhg: float | None
    tcpo2_mmhg: float | None
    ankle_brachial: float | None
    toe_brachial: float | None
    arm_difference_mmhg: float | None


def arterial_numbers(arms: Arms, arterial: Arterial) -> ArterialNumbers:
    """Indices of one leg.

    Parameters
    ----------
    arms : Arms
        Arm pressures [mmHg].
    arterial : Arterial
        The leg's pressures [mmHg].

    Returns
    -------
    ArterialNumbers

    References
    ----------
    Numerator and denominator: the method that agreed best with true prevalence in Lange et al.
    2007, BMC Public Health (getABI), and the laboratory criteria of vascular ultrasound.

    Examples
    --------
    >>> numbers = arterial_numbers(
    ...     Arms(left_mmhg=132, right_mmhg=140),
    ...     Arterial(dorsalis_pedis_mmhg=118, posterior_tibial_mmhg=124))
    >>> numbers.ankle_brachial
    0.89
    """
    arm = _highest(arms.left_mmhg, arms.right_mmhg)
    ankle = _highest(arterial.dorsalis_pedis_mmhg, arterial.posterior_tibial_mmhg)
    toe = arterial.toe_mmhg
    both_arms = arms.left_mmhg is not None and arms.right_mmhg is not None
    return ArterialNumbers(
        arm_mmhg=arm,
        ankle_mmhg=ankle,
        toe_mmhg=toe,
        tcpo2_mmhg=arterial.tcpo2_mmhg,
        ankle_brachial=rounded_index(ankle, arm) if ankle and arm else None,
        toe_brachial=rounded_index(toe, arm) if toe and arm else None,
        arm_difference_mmhg=(
            abs(arms.left_mmhg - arms.right_mmhg)
            if both_arms and arms.left_mmhg is not None and arms.right_mmhg is not None
            else None
        ),
    )


def _highest(*values: float | None) -> float | None:
    known = [value for value in values if value is not None]
    return max(known) if known else None
