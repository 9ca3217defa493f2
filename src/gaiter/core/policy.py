"""Local policy: every threshold with its unit, its source and how strong that is.

The shipped policy is read outside the core and passed in. A clinic's own file lays its values
over the shipped ones; every change is kept in words and travels with each decision.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.case.leg import Purpose
from gaiter.core.case.person import Training
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.record import Record
from gaiter.core.words import Said


@dataclass(frozen=True)
class Bound:
    """Allowed range of a policy value, and the direction in which it guards less.

    Attributes
    ----------
    low, high : float
        Both limits are allowed [unit].
    unit : str
        Unit of the value and of its limits.
    looser : str
        ``"lower"`` or ``"higher"``: where the value guards less; empty where neither does.

    Examples
    --------
    >>> BOUNDS["ankle_stop_mmhg"]
    Bound(low=40, high=100, unit='mmHg', looser='lower')
    """

    low: float
    high: float
    unit: str
    looser: Literal["lower", "higher", ""] = ""


BOUNDS: Mapping[str, Bound] = {
    "ankle_brachial_hard_stop": Bound(0.3, 0.8, "ratio", "lower"),
    "ankle_brachial_stop_below": Bound(0.4, 0.9, "ratio", "lower"),
    "ankle_brachial_full_from": Bound(0.6, 1.0, "ratio", "lower"),
    "ankle_brachial_refer_to": Bound(0.8, 1.0, "ratio", "lower"),
    "ankle_brachial_disputed_above": Bound(1.1, 1.4, "ratio", "higher"),
    "ankle_brachial_stiff_above": Bound(1.2, 1.5, "ratio", "higher"),
    "toe_brachial_abnormal_to": Bound(0.5, 0.9, "ratio", "lower"),
    "toe_brachial_unusual_above": Bound(1.1, 1.6, "ratio", "higher"),
    "ankle_brachial_stiff_always_above": Bound(1.3, 1.6, "ratio", "higher"),
    "exchanged_index_above": Bound(1.3, 2.0, "ratio", "higher"),
    "ankle_stop_mmhg": Bound(40, 100, "mmHg", "lower"),
    "ankle_margin_mmhg": Bound(0, 60, "mmHg", "lower"),
    "ankle_artery_difference_mmhg": Bound(10, 80, "mmHg", "higher"),
    "arm_implausible_to_mmhg": Bound(60, 80, "mmHg", "lower"),
    "arm_low_below_mmhg": Bound(70, 110, "mmHg", "lower"),
    "toe_stop_below_mmhg": Bound(20, 70, "mmHg", "lower"),
    "toe_soft_stop_to_mmhg": Bound(30, 80, "mmHg", "lower"),
    "tcpo2_hard_stop_below_mmhg": Bound(10, 50, "mmHg", "lower"),
    "tcpo2_stop_below_mmhg": Bound(20, 60, "mmHg", "lower"),
    "arm_difference_mmhg": Bound(5, 40, "mmHg", "higher"),
    "rest_min": Bound(0, 60, "min", "lower"),
    "arterial_test_days": Bound(7, 400, "days", "higher"),
    "arterial_test_risk_days": Bound(7, 200, "days", "higher"),
    "arterial_outer_days": Bound(30, 730, "days", "higher"),
    "arterial_after_change_days": Bound(0, 30, "days", "higher"),
    "wound_long_weeks": Bound(4, 26, "weeks", "higher"),
    "clot_sign_days": Bound(7, 90, "days", "lower"),
    "sensation_stop_sites": Bound(1, 3, "sites", "higher"),
    "adult_from_years": Bound(16, 21, "years", "lower"),
    "pain_bad_above": Bound(0, 6, "of 10", "higher"),
    "pain_severe_from": Bound(5, 9, "of 10", "higher"),
    "first_look_days": Bound(1, 4, "days", "higher"),
    "weight_gain_kg": Bound(0.5, 10, "kg", "higher"),
    "full_maximum_mmhg": Bound(30, 80, "mmHg", "higher"),
    "reduced_maximum_mmhg": Bound(15, 50, "mmHg", "higher"),
    "start_maximum_mmhg": Bound(10, 40, "mmHg", "higher"),
    "untested_maximum_mmhg": Bound(0, 20, "mmHg", "higher"),
    "chance_above_maximum": Bound(0.001, 0.2, "share", "higher"),
    "bony_place_factor": Bound(1, 3, "times", "higher"),
    "bony_place_maximum_mmhg": Bound(30, 200, "mmHg", "higher"),
    "foot_maximum_mmhg": Bound(15, 80, "mmHg", "higher"),
    "rise_allowed_percent": Bound(0, 50, "%", "higher"),
    "steep_share_of_range": Bound(0.05, 1, "share", "higher"),
    "redo_from_chance": Bound(0.03, 0.5, "share", "higher"),
    "take_off_from_chance": Bound(0.05, 0.9, "share", "higher"),
    "standing_girth_rise_cm": Bound(0.2, 2, "cm", "lower"),
    "stiff_from_mmhg": Bound(5, 20, "mmHg"),
    "theory_remainder_median": Bound(0.5, 1.2, "ratio", "lower"),
    "theory_remainder_range95": Bound(0.1, 1, "share", "lower"),
    "check_again_min": Bound(5, 30, "min", "higher"),
    "check_walk_from_min": Bound(5, 20, "min", "lower"),
    "check_walk_to_min": Bound(5, 30, "min"),
    # How far a leg may move before its plan is looked at again, and what a clinic follows.
    "drift_share": Bound(0.02, 0.2, "share", "higher"),
    "girth_review_share": Bound(0.05, 0.25, "share", "higher"),
    "girth_void_share": Bound(0.08, 0.4, "share", "higher"),
    "girth_question_share": Bound(0.03, 0.3, "share", "higher"),
    "landmarks_due_days": Bound(7, 92, "days", "higher"),
    "missed_after_days": Bound(0, 14, "days", "higher"),
    "stall_weeks": Bound(2, 12, "weeks", "higher"),
    "stall_share": Bound(0.05, 0.5, "share", "lower"),
    "override_least_mmhg": Bound(5, 20, "mmHg"),
    "order_largest_mmhg": Bound(20, 80, "mmHg", "higher"),
    "order_longest_days": Bound(1, 366, "days", "higher"),
}


class Value(Record):
    """One threshold."""

    value: float
    source: str = Field(min_length=3)
    strength: str = Field(min_length=3)


class TargetRule(Record):
    """Target range at the gaiter for one purpose."""

    gaiter_low_mmhg: float = Field(ge=0, le=80)
    gaiter_high_mmhg: float = Field(ge=0, le=80)
    never_above_mmhg: float | None = Field(
        None, ge=10, le=80, description="null: the leg's own maximum [mmHg]"
    )
    source: str = Field(min_length=3)


class SiteShare(Record):
    """Target range of a site as shares of the gaiter's: low of its low, high of its high."""

    low: float = Field(ge=0, le=2)
    high: float = Field(ge=0, le=2)
    source: str = Field(min_length=3)


class Hands(Record):
    """Spread of tension of one training level."""

    tension_cv: float = Field(ge=0.02, le=1)
    source: str = Field(min_length=3)


class Policy(Record):
    """Thresholds, target ranges and spreads, with the name and version of who set them."""

    name: str = Field(min_length=1, max_length=120)
    version: str = Field(min_length=1, max_length=40)
    values: Mapping[str, Value]
    targets: Mapping[Purpose, TargetRule]
    site_share: Mapping[Landmark, SiteShare]
    hands: Mapping[Training, Hands]
    sha256: str = ""
    changes: tuple[Said, ...] = ()
    loosened: tuple[Said, ...] = ()

    @model_validator(mode="after")
    def _complete_and_in_range(self) -> Self:
        for name in self.values:
            if name not in BOUNDS:
                raise InputError(
                    Said(
                        "policy values.{name} is unknown: remove it or correct its name",
                        {"name": name},
                    )
                )
        for name, bound in BOUNDS.items():
            if name not in self.values:
                raise InputError(
                    Said(
                        "policy values.{name} is missing: give it in {unit}",
                        {"name": name, "unit": Said(bound.unit)},
                    )
                )
            value = self.values[name].value
            if not bound.low <= value <= bound.high:
                raise InputError(
                    Said(
                        "policy values.{name} must be {low:g} to {high:g} {unit}; received "
                        "{value:g}: correct it",
                        {
                            "name": name,
                            "low": bound.low,
                            "high": bound.high,
                            "unit": Said(bound.unit),
                            "value": value,
                        },
                    )
                )
        missing = [purpose.value for purpose in Purpose if purpose not in self.targets]
        if missing:
            raise InputError(
                Said(
                    "policy targets for {purposes} are missing: give them",
                    {"purposes": ", ".join(missing)},
                )
            )
        for purpose, target in self.targets.items():
            if target.gaiter_low_mmhg >= target.gaiter_high_mmhg:
                raise InputError(
                    Said(
                        "policy targets.{purpose}: gaiter_low_mmhg must be below "
                        "gaiter_high_mmhg; received {low:g} and {high:g} mmHg",
                        {
                            "purpose": purpose.value,
                            "low": target.gaiter_low_mmhg,
                            "high": target.gaiter_high_mmhg,
                        },
                    )
                )
        return self

    def __getitem__(self, name: str) -> float:
        """Number of one threshold."""
        return self.values[name].value

    @property
    def label(self) -> str:
        """Name and version in one.

        Returns
        -------
        str

        Examples
        --------
        >>> from gaiter.files.policy_file import shipped_policy
        >>> policy = shipped_policy()
        >>> policy.label == f"{policy.name}, version {policy.version}"
        True
        """
        return self.said.text

    @property
    def said(self) -> Said:
        """Name and version, for any language.

        Returns
        -------
        Said

        Examples
        --------
        >>> from gaiter.files.policy_file import shipped_policy
        >>> shipped_policy().said.text == shipped_policy().label
        True
        """
        return Said("{name}, version {version}", {"name": self.name, "version": self.version})


def overlaid(shipped: Policy, clinic: Mapping[str, Any], sha256: str) -> Policy:
    """The shipped policy with a clinic's own values over it.

    Parameters
    ----------
    shipped : Policy
        The policy that comes with the program.
    clinic : Mapping
        ``name``, ``version`` and any of ``values``, ``targets``, ``site_share``, ``hands``; each
        entry replaces the shipped one whole, so that no value loses its source.
    sha256 : str
        Fingerprint of the clinic's file.

    Returns
    -------
    Policy
        ``changes`` names every value that differs; ``loosened`` those that guard less.

    Raises
    ------
    pydantic.ValidationError
        Naming the entry that is wrong.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> stricter = {"value": 70, "source": "our vascular team", "strength": "local"}
    >>> ours = {"name": "Invented", "version": "1", "values": {"ankle_stop_mmhg": stricter}}
    >>> overlaid(shipped_policy(), ours, sha256="").changes[0].text
    'ankle stop mmhg: 60 to 70 mmHg (Invented, version 1)'
    """
    merged: dict[str, Any] = shipped.model_dump(mode="json", exclude={"changes", "loosened"})
    merged["sha256"] = sha256
    for section, entries in clinic.items():
        if isinstance(entries, Mapping) and isinstance(merged.get(section), dict):
            merged[section] = {**merged[section], **entries}
        else:
            merged[section] = entries
    policy = Policy.model_validate(merged)
    changes, loosened = _differences(shipped, policy)
    return policy.model_copy(update={"changes": changes, "loosened": loosened})


def _differences(shipped: Policy, policy: Policy) -> tuple[tuple[Said, ...], tuple[Said, ...]]:
    changes, loosened = [], []
    for name, bound in BOUNDS.items():
        before, after = shipped[name], policy[name]
        if before == after:
            continue
        said = Said(
            "{name}: {before:g} to {after:g} {unit} ({policy})",
            {
                "name": Said(name.replace("_", " ")),
                "before": before,
                "after": after,
                "unit": Said(bound.unit) if bound.unit else "",
                "policy": policy.said,
            },
        )
        changes.append(said)
        if (bound.looser == "lower") == (after < before) and bound.looser:
            loosened.append(said)
    for section in ("targets", "site_share", "hands"):
        for key, entry in getattr(policy, section).items():
            was = getattr(shipped, section).get(key)
            if entry == was:
                continue
            said = Said(
                "{section}, {key}: changed ({policy})",
                {
                    "section": Said(section.replace("_", " ")),
                    "key": Said(str(key)),
                    "policy": policy.said,
                },
            )
            changes.append(said)
            if was is None or _guards_less(was, entry):
                loosened.append(said)
    return tuple(changes), tuple(loosened)


def _guards_less(was: Record, now: Record) -> bool:
    """Whether a target range reaches higher, or hands are taken to be steadier."""
    if isinstance(was, TargetRule) and isinstance(now, TargetRule):
        most, most_now = was.never_above_mmhg or math.inf, now.never_above_mmhg or math.inf
        return (
            now.gaiter_high_mmhg > was.gaiter_high_mmhg
            or now.gaiter_low_mmhg > was.gaiter_low_mmhg
            or most_now > most
        )
    if isinstance(was, SiteShare) and isinstance(now, SiteShare):
        return now.high > was.high or now.low > was.low
    if isinstance(was, Hands) and isinstance(now, Hands):
        return now.tension_cv < was.tension_cv
    return False
