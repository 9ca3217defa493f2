"""Whether an approved plan may be bandaged today: what a visit finds can void it."""

from django.utils.translation import gettext as _

from gaiter.core.landmark import Side
from gaiter.core.safety import Outcome, decide
from gaiter.exchange.wording import FileError
from gaiter.records.assemble import assembled, case_of, local_policy
from gaiter.records.models import PlanRecord, Visit


def why_not_today(visit: Visit, plan: PlanRecord) -> str:
    """Why a plan may not be bandaged at a visit; empty where it may.

    The decision is made anew from what the visit knows: a stop, something that has to be
    measured first, or a maximum below the plan's voids the plan until a new one is approved.
    """
    try:
        case = case_of(assembled(visit), with_stock=False)
    except FileError:
        return _("This visit is not complete: look and measure first.")
    decision = decide(case, local_policy()).legs[Side(visit.episode.side)]
    if decision.outcome is Outcome.STOP or decision.maximum_mmhg is None:
        first = next((r.text for r in decision.reasons if r.code in decision.limiting), "")
        return f"{decision.headline}. {first}".strip()
    if decision.maximum_mmhg < plan.maximum_mmhg:
        return _(
            "Today's maximum is {now:g} mmHg, this plan's {then:g} mmHg: plan anew before "
            "bandaging."
        ).format(now=decision.maximum_mmhg, then=plan.maximum_mmhg)
    return ""
