"""A bandage that lies, in the hands of a program."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from gaiter.api.given import Given, document_from, is_text, path_from
from gaiter.api.planned import PlannedCase
from gaiter.api.table import as_table
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.draw.profile import applied_profile
from gaiter.core.plan.document import LegPlan, Plan
from gaiter.files.plan_file import as_written, read_plan
from gaiter.files.text_file import mapping_in


@dataclass(frozen=True, eq=False)
class AppliedBandage:
    """What :func:`gaiter.applied` returns.

    Attributes
    ----------
    document : Applied
        Pressure as applied beside the plan, as plain data, ``gaiter.applied/1``.
    leg : LegPlan
        The plan of the leg.
    """

    document: Applied
    leg: LegPlan

    @property
    def advice(self) -> Advice:
        """What to do."""
        return self.document.advice

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why, in words."""
        return tuple(reason.text for reason in self.document.reasons)

    def table(self) -> Any:
        """Pressure at every reading site, planned and as applied, from the foot to the knee.

        Returns
        -------
        pandas.DataFrame or dict of str to list
            A DataFrame if pandas is installed. Columns: ``site``; ``planned_mmhg``; ``read_mmhg``
            by a sensor (None: none there); ``likely_mmhg`` as applied with ``low_mmhg`` and
            ``high_mmhg``, its 5th and 95th percentile [mmHg]; ``chance_in_range`` and
            ``chance_above_maximum``, 0 to 1.
        """
        return as_table(
            {
                "site": site.landmark.value,
                "planned_mmhg": site.planned_mmhg,
                "read_mmhg": site.read_mmhg,
                "likely_mmhg": site.median_mmhg,
                "low_mmhg": site.low_mmhg,
                "high_mmhg": site.high_mmhg,
                "chance_in_range": site.chance_in_range,
                "chance_above_maximum": site.chance_above_maximum,
            }
            for site in self.document.sites
        )

    def svg(self) -> str:
        """Pressure as applied beside the plan, along the leg, as SVG text."""
        return applied_profile(self.leg, self.document).to_text()

    def _repr_svg_(self) -> str:
        return self.svg()

    def __repr__(self) -> str:
        made = self.document
        return f"<AppliedBandage {made.side.value} leg, {made.title}: {made.advice.value}>"


def applied(plan: PlannedCase | Plan | Given, readings: Readings | Given) -> AppliedBandage:
    """Pressure of a bandage that lies, from its mark spacings or a sensor, and what to do.

    Parameters
    ----------
    plan : PlannedCase, Plan, str, path or mapping
        What :func:`gaiter.plan` returned, or a ``plan.json`` that was written: its path, its
        text, or the mapping it parses to. One that was changed since it was written is refused.
    readings : Readings, str, path or mapping
        ``gaiter.readings/1`` as a path, TOML or JSON text, a mapping, or the record.

    Returns
    -------
    AppliedBandage

    Raises
    ------
    InputError
        With every problem in words.

    Examples
    --------
    >>> import gaiter
    >>> planned = gaiter.plan("examples/inner-ankle-ulcer.toml")
    >>> gaiter.applied(planned, "examples/readings/inner-ankle-ulcer.toml")
    <AppliedBandage right leg, Three layers with long-stretch elastic bandage: redo>
    """
    whole = _plan_from(plan)
    made = applied_pressure(whole, document_from(readings, Readings, "readings"))
    return AppliedBandage(made, whole.legs[made.side])


def _plan_from(given: PlannedCase | Plan | Given) -> Plan:
    if isinstance(given, PlannedCase):
        return given.document
    if isinstance(given, Plan):
        return given
    if isinstance(given, str) and is_text(given):
        given = mapping_in(given, "plan")
    if isinstance(given, Mapping):
        return as_written(document_from(given, Plan, "plan"), "plan")
    return read_plan(path_from(given, "plan"))
