"""Practice bandages kept for whoever learns."""

from statistics import fmean

from django.utils.translation import gettext as _

from gaiter.core.applied.document import Applied
from gaiter.core.errors import InputError
from gaiter.core.landmark import LEG_SITES
from gaiter.core.plan import Plan
from gaiter.files.plan_file import plan_json
from gaiter.records.actions.readings import hands_of
from gaiter.records.ledger import Actor, action
from gaiter.records.models import Attempt


def record_attempt(
    actor: Actor, *, task: str, limb: str, plan: Plan, applied: Applied, once: str | None = None
) -> Attempt:
    """One practice bandage with what its readings told."""
    if limb not in Attempt.Limb.values:
        raise InputError(_("Say whether it was a colleague's leg or a training limb."))
    judged = [abs(site.off_mmhg) for site in applied.sites if site.landmark in LEG_SITES]
    with action(actor, "record practice", f"practice:{task}", once=once) as act:
        return act.create(
            Attempt, by=actor.account, at=act.at, task=task, limb=limb, system=applied.system,
            plan=plan_json(plan), document=applied.model_dump_json(by_alias=True),
            hands=hands_of(applied), mean_off_mmhg=fmean(judged),
        )  # fmt: skip
