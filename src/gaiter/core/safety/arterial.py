"""Arterial numbers: indices from cuff pressures.

ABI and ABPI are the same thing: the better of a foot's two ankle pressures over the higher arm.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from gaiter.core.case import Arms, Arterial
from gaiter.core.units import MMHG_PER_KILOPASCAL
from gaiter.core.words import Said

# A number is questioned when, read as kilopascals, it is an ordinary pressure (our choice): this
# share of the arm's at ankle and toe, so many mmHg of oxygen at the skin.
_ORDINARY_SHARE, _ORDINARY_OXYGEN_MMHG = (0.3, 1.4), (10.0, 95.0)
KILOPASCAL_PLACES = ("ankle", "toe", "oxygen")


def rounded_index(numerator_mmhg: float, denominator_mmhg: float) -> float:
    """Ratio of two pressures rounded half up to two decimals, once.

    Parameters
    ----------
    numerator_mmhg, denominator_mmhg : float
        Pressures [mmHg], the second above 0.

    Returns
    -------
    float

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

    Notes
    -----
    The ``worst`` indices are what limits are held against: of the raw and the rounded index the
    lower one where low is bad, the higher one where high is.
    """

    arm_mmhg: float | None
    ankle_mmhg: float | None
    toe_mmhg: float | None
    tcpo2_mmhg: float | None
    ankle_brachial: float | None
    toe_brachial: float | None
    arm_difference_mmhg: float | None

    @property
    def worst_low_index(self) -> float | None:
        """ABI (ABPI), raw or rounded, whichever is lower.

        Returns
        -------
        float or None
            None where a pressure of the two was not measured or is 0.

        Examples
        --------
        >>> ankle = Arterial(posterior_tibial_mmhg=109)
        >>> arterial_numbers(Arms(left_mmhg=121), ankle).worst_low_index  # 0.9008 raw
        0.9
        """
        return _worst(min, self.ankle_mmhg, self.arm_mmhg)

    @property
    def worst_high_index(self) -> float | None:
        """ABI (ABPI), raw or rounded, whichever is higher.

        Returns
        -------
        float or None
            None where a pressure of the two was not measured or is 0.

        Examples
        --------
        >>> ankle = Arterial(posterior_tibial_mmhg=109)
        >>> arterial_numbers(Arms(left_mmhg=121), ankle).worst_high_index == 109 / 121
        True
        """
        return _worst(max, self.ankle_mmhg, self.arm_mmhg)

    @property
    def worst_low_toe_index(self) -> float | None:
        """Toe index, raw or rounded, whichever is lower.

        Returns
        -------
        float or None
            None where a pressure of the two was not measured or is 0.

        Examples
        --------
        >>> toe = Arterial(toe_mmhg=84)
        >>> arterial_numbers(Arms(left_mmhg=121), toe).worst_low_toe_index  # 0.6942 raw
        0.69
        """
        return _worst(min, self.toe_mmhg, self.arm_mmhg)

    @property
    def worst_high_toe_index(self) -> float | None:
        """Toe index, raw or rounded, whichever is higher.

        Returns
        -------
        float or None
            None where a pressure of the two was not measured or is 0.

        Examples
        --------
        >>> toe = Arterial(toe_mmhg=84)
        >>> arterial_numbers(Arms(left_mmhg=121), toe).worst_high_toe_index == 84 / 121
        True
        """
        return _worst(max, self.toe_mmhg, self.arm_mmhg)

    def in_words(self) -> tuple[tuple[str, str], ...]:
        """Name and value of every number; what was not measured says so.

        Returns
        -------
        tuple[tuple[str, str], ...]
            Indices with two decimals, pressures [mmHg].

        Examples
        --------
        >>> numbers = arterial_numbers(Arms(left_mmhg=120, right_mmhg=118), Arterial(toe_mmhg=90))
        >>> numbers.in_words()[1]
        ('toe index', '0.75')
        """
        return tuple((name.text, value.text) for name, value in self.said())

    def said(self) -> tuple[tuple[Said, Said], ...]:
        """Name and value of every number, for any language.

        Returns
        -------
        tuple[tuple[Said, Said], ...]
            In the order of :meth:`in_words`.

        Examples
        --------
        >>> ankle = Arterial(posterior_tibial_mmhg=109)
        >>> arterial_numbers(Arms(left_mmhg=121), ankle).said()[0][1].text
        '0.90'
        """
        index, pressure = "{value:.2f}", "{value:g} mmHg"
        rows = (
            ("ABI (ABPI)", self.ankle_brachial, index),
            ("toe index", self.toe_brachial, index),
            ("arm", self.arm_mmhg, pressure),
            ("ankle", self.ankle_mmhg, pressure),
            ("toe", self.toe_mmhg, pressure),
            ("oxygen at the skin", self.tcpo2_mmhg, pressure),
        )
        return tuple(
            (Said(name), Said("not measured") if value is None else Said(form, {"value": value}))
            for name, value, form in rows
        )

    def in_kilopascal(self, place: str) -> bool:
        """Whether the ankle, toe or oxygen value looks as if it had been given in kilopascals.

        Parameters
        ----------
        place : str
            One of ``KILOPASCAL_PLACES``.

        Returns
        -------
        bool
            Whether 7.50062 times the value would be an ordinary pressure.

        References
        ----------
        1 kPa is 7.50062 mmHg (SI Brochure, 9th edition, and NIST SP 811).

        Examples
        --------
        >>> low, ordinary = Arterial(posterior_tibial_mmhg=20), Arterial(posterior_tibial_mmhg=109)
        >>> arterial_numbers(Arms(left_mmhg=121), low).in_kilopascal("ankle")  # 20 kPa is 150 mmHg
        True
        >>> arterial_numbers(Arms(left_mmhg=121), ordinary).in_kilopascal("ankle")
        False
        """
        if place == "oxygen":
            oxygen, (low, high) = self.tcpo2_mmhg, _ORDINARY_OXYGEN_MMHG
            return oxygen is not None and low <= oxygen * MMHG_PER_KILOPASCAL <= high
        value = self.ankle_mmhg if place == "ankle" else self.toe_mmhg
        if value is None or self.arm_mmhg is None:
            return False
        low, high = _ORDINARY_SHARE
        return low <= value * MMHG_PER_KILOPASCAL / self.arm_mmhg <= high


def _worst(
    pick: Callable[[float, float], float], pressure_mmhg: float | None, arm_mmhg: float | None
) -> float | None:
    if not pressure_mmhg or not arm_mmhg:
        return None
    return pick(pressure_mmhg / arm_mmhg, rounded_index(pressure_mmhg, arm_mmhg))


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
    return ArterialNumbers(
        arm_mmhg=arm,
        ankle_mmhg=ankle,
        toe_mmhg=toe,
        tcpo2_mmhg=arterial.tcpo2_mmhg,
        ankle_brachial=rounded_index(ankle, arm) if ankle and arm else None,
        toe_brachial=rounded_index(toe, arm) if toe and arm else None,
        arm_difference_mmhg=_apart(arms.left_mmhg, arms.right_mmhg),
    )


def _apart(left: float | None, right: float | None) -> float | None:
    return None if left is None or right is None else abs(left - right)


def _highest(*values: float | None) -> float | None:
    known = [value for value in values if value is not None]
    return max(known) if known else None
