"""A practice bandage is kept with the mean over its judged places."""

from datetime import date

import pytest

from gaiter.core.applied.document import Advice, Applied, AppliedSite
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Plan
from gaiter.core.plan.pressures import Profile
from gaiter.records.actions.practice import record_attempt
from gaiter.records.ledger import Actor, AlreadyDoneError
from gaiter.records.models import Account, Attempt, AuditEntry
from tests.records.models.rows import made
from tests.sheets import small_plan

pytestmark = pytest.mark.django_db


def site(landmark: Landmark, planned: float, likely: float) -> AppliedSite:
    return AppliedSite(
        landmark=landmark, planned_mmhg=planned, read_mmhg=None, theory_mmhg=likely,
        theory_log_sd=0.1, median_mmhg=likely, low_mmhg=likely - 5, high_mmhg=likely + 5,
        target_low_mmhg=None, target_high_mmhg=None, chance_in_range=None,
        chance_above_maximum=0.0, guarded=True,
    )  # fmt: skip


def applied() -> Applied:
    """Off by +4, -2 and +6 mmHg on the leg, and by 50 at the instep, which is not judged."""
    return Applied(
        case=None, invented=True, today=date(2026, 11, 25), side=Side.RIGHT, system="two layers",
        title="Two layers", maximum_mmhg=60.0, advice=Advice.GOOD, reasons=(), layers=(),
        sites=(
            site(Landmark.INSTEP, 40, 90), site(Landmark.ANKLE, 40, 44),
            site(Landmark.GAITER, 36, 34), site(Landmark.CALF, 30, 36),
        ),
        chance_every_site_in_range=0.5,
        profile=Profile(s_cm=(0,), median_mmhg=(0,), low_mmhg=(0,), high_mmhg=(0,)),
        spacings_read=3, sensor_values_read=0, remainder_median=0.8, remainder_planned=0.8,
    )  # fmt: skip


@pytest.fixture
def attempt():
    learner = made(Account, role="learner")

    def record(limb="limb", once=None):
        return record_attempt(
            Actor(learner, "test"), task="ordinary-leg", limb=limb, plan=small_plan.plan(),
            applied=applied(), once=once,
        )  # fmt: skip

    return record


def test_the_mean_is_over_the_judged_places_without_signs(attempt) -> None:
    """(4 + 2 + 6) / 3 = 4 mmHg."""
    assert attempt().mean_off_mmhg == pytest.approx(4.0)


def test_task_plan_and_what_was_read_are_kept_whole(attempt) -> None:
    again = Attempt.objects.get(pk=attempt("colleague").pk)
    assert (again.task, again.limb, again.system) == ("ordinary-leg", "colleague", "two layers")
    assert Plan.model_validate_json(again.plan).legs == small_plan.plan().legs
    assert Applied.model_validate_json(again.document) == applied()
    assert again.by.role == "learner"
    assert AuditEntry.objects.latest("number").verb == "record practice"


def test_it_is_said_on_what_was_bandaged(attempt) -> None:
    with pytest.raises(InputError, match="a colleague's leg or a training limb"):
        attempt("patient")
    assert not Attempt.objects.exists()


def test_a_form_sent_twice_counts_once(attempt) -> None:
    attempt(once="form")
    with pytest.raises(AlreadyDoneError):
        attempt(once="form")
    assert Attempt.objects.count() == 1
