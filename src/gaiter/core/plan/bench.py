"""A planned case with everything computed for it, so that a change by hand answers at once."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.plan.adjust import Adjustment
from gaiter.core.plan.design import Design
from gaiter.core.plan.document import Fit, LegPlan, Plan, Status
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.pressures import SkinAbove
from gaiter.core.plan.system_on_leg import LegTask, SystemOnLeg, changed
from gaiter.core.words import Said


@dataclass(frozen=True)
class Adjusted:
    """A leg's plan with one system put first, and the design that it was written from.

    Attributes
    ----------
    leg : LegPlan
        The plan.
    made : SystemOnLeg
        Its first system.
    bandaged_leg : BandagedLeg
        The leg that it lies on, for pictures.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> as_computed = example_bench().adjusted(Side.RIGHT, Adjustment("one_elastic"))
    >>> as_computed.design.fabric_cm == as_computed.leg.systems[0].layers[1].length_cm
    True
    >>> often = as_computed.with_warnings().systems[0].often_above  # most on the sharpest, in front
    >>> often[0].place, often[0].limit_mmhg
    ('front of the ankle', 60.0)
    """

    leg: LegPlan
    made: SystemOnLeg
    bandaged_leg: BandagedLeg

    @property
    def design(self) -> Design:
        """The design of the first system, over its pads.

        Returns
        -------
        Design
        """
        return self.made.design

    def with_warnings(self) -> LegPlan:
        """The plan with the skin that most bandages press above the leg's maximum.

        Sums thousands of bandages over the whole skin: meant for a process that has loaded the
        compiled sums (:func:`gaiter.core.spread.sums.load`).

        Returns
        -------
        LegPlan
            ``often_above`` of its first system names the patches, largest first.
        """
        limit = self.leg.decision.maximum_mmhg or 0.0
        above = tuple(
            SkinAbove(place=patch.place, area_cm2=patch.area_cm2, limit_mmhg=limit)
            for patch in self.design.often_above(limit)
        )
        first, *rest = self.leg.systems
        first = first.model_copy(update={"often_above": above})
        return self.leg.model_copy(update={"systems": (first, *rest)})


@dataclass(frozen=True)
class LegBench:
    """A leg that has a plan, and every system that was made for it, by name.

    Attributes
    ----------
    task : LegTask
        The leg and what its systems are judged by.
    made : Mapping[str, SystemOnLeg]
        By name of the system.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> list(leg.made), leg.task.aim.maximum_mmhg
    (['one_elastic'], 60.0)
    """

    task: LegTask
    made: Mapping[str, SystemOnLeg]


@dataclass(frozen=True)
class Bench:
    """A planned case with what its legs and systems were computed from.

    Attributes
    ----------
    plan : Plan
        The computed plan.
    legs : Mapping[Side, LegBench]
        Every leg that was planned; none for one that is stopped or out of reach.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> bench = example_bench()
    >>> bench.today.isoformat()
    '2026-11-25'
    >>> bench.legs["right"].made["one_elastic"].plan is bench.plan.legs["right"].systems[0]
    True
    """

    plan: Plan
    legs: Mapping[Side, LegBench]

    @property
    def today(self) -> date:
        """The day of the case.

        Returns
        -------
        date
        """
        return self.plan.today

    def adjusted(self, side: Side, adjustment: Adjustment) -> Adjusted:
        """The leg's plan with one system changed by hand and put first.

        Parameters
        ----------
        side : Side
            A leg whose plan has systems.
        adjustment : Adjustment
            The system and what to change; nothing changed gives the computed system.

        Returns
        -------
        Adjusted
            Maximum and target range stay; a system beyond them says so in its outcome.

        Raises
        ------
        InputError
            If the leg has no such system, or a change lies outside what its material allows.

        Examples
        --------
        >>> from gaiter.files.example_bench import example_bench
        >>> bench = example_bench()
        >>> now = bench.adjusted(Side.RIGHT, Adjustment("one_elastic", pads_mm={"heel": 6}))
        >>> now.leg.systems[0].pads_mm["heel"], now.leg.systems[0].by_hand[0].text
        (6.0, 'heel: pad of 6 mm')
        """
        leg_plan, bench = self.plan.legs[side], self.legs.get(side)
        if bench is None or adjustment.system not in bench.made:
            known = ", ".join(system.name for system in leg_plan.systems) or "none"
            raise InputError(
                Said(
                    "system must be one planned for the {side} leg ({known}); received {system}: "
                    "choose one of them",
                    {
                        "side": Said(Side(side).value),
                        "known": known,
                        "system": str(adjustment.system),
                    },
                )
            )
        made = changed(bench.made[adjustment.system], adjustment, bench.task)
        rest = tuple(system for system in leg_plan.systems if system.name != made.plan.name)
        usable = made.plan.outcome is not Fit.CANNOT_BE_REACHED
        reason = leg_plan.decision.said if usable else made.plan.outcome_reason
        leg = leg_plan.model_copy(
            update={
                "systems": (made.plan, *rest),
                "status": Status.PLANNED if usable else Status.CANNOT_BE_REACHED,
                "status_reason": reason,
                "next_visit": (
                    self.today + timedelta(days=made.plan.change_days) if usable else None
                ),
            }
        )
        return Adjusted(leg, made, bench.task.bandaged_leg)
