"""Whether a plan in force still holds: everything it rests on, then and now."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.core.policy import Policy
from gaiter.records.actions.plans import record_bandaging, set_stock_item, stock_change
from gaiter.records.actions.visits import sign_visit
from gaiter.records.models import PlanRecord
from gaiter.records.read import holding as module
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.holding import PlanVerdict, holding
from gaiter.records.read.in_force import plan_in_force


def held(clinic, **found):
    plan = clinic.approved()
    clinic.fill({path.replace("__", "."): value for path, value in found.items()})
    return holding(clinic.visit, plan)


def with_values(policy: Policy, **values) -> Policy:
    changed = {
        name: policy.values[name].model_copy(update={"value": value})
        for name, value in values.items()
    }
    return policy.model_copy(update={"values": {**policy.values, **changed}})


def test_an_unchanged_visit_holds(clinic) -> None:
    found = held(clinic)
    assert (found.verdict, found.words) == (PlanVerdict.HOLDS, "")


def test_an_allergy_to_a_layer_voids(clinic) -> None:
    plan = clinic.approved()
    system = leg_of(plan_of(plan)).systems[0]
    from gaiter.files.catalogue_file import shipped_catalogue

    catalogue = shipped_catalogue()
    allergen = next(a for layer in system.layers for a in catalogue[layer.material].allergens)
    clinic.fill({"person.allergies": [allergen.value]})
    found = holding(clinic.visit, plan)
    assert found.verdict is PlanVerdict.VOID
    assert f"allergy to {allergen}" in found.words


def test_what_is_not_tolerated_voids(clinic) -> None:
    found = held(clinic, person__does_not_tolerate=["elastic", "cohesive"])
    assert found.verdict is PlanVerdict.VOID
    assert "does not tolerate" in found.words


def without_the_planned_system(clinic, monkeypatch, *, shipped: bool):
    """The clinic's list without the system of the plan in force, and the plan."""
    from gaiter.files.catalogue_file import shipped_catalogue

    plan, whole = clinic.approved(), shipped_catalogue()
    name = leg_of(plan_of(plan)).systems[0].name
    left = {key: one for key, one in whole.systems.items() if key != name}
    less = whole.model_copy(update={"systems": left})
    monkeypatch.setattr(module, "local_catalogue", lambda: less)
    if not shipped:
        monkeypatch.setattr(module, "shipped_catalogue", lambda: less)
    return plan


def test_a_system_that_the_clinic_took_out_is_looked_at_again(clinic, monkeypatch) -> None:
    plan = without_the_planned_system(clinic, monkeypatch, shipped=True)
    found = holding(clinic.visit, plan)
    assert found.verdict is PlanVerdict.REVIEW
    assert "This clinic no longer uses the bandage" in found.words
    clinic.fill({"person.does_not_tolerate": ["elastic", "cohesive"]})
    assert holding(clinic.visit, plan).verdict is PlanVerdict.VOID


def test_a_system_that_no_list_knows_may_be_anything(clinic, monkeypatch) -> None:
    """What it is like cannot be told any more, so whatever is not tolerated voids it."""
    plan = without_the_planned_system(clinic, monkeypatch, shipped=False)
    assert holding(clinic.visit, plan).verdict is PlanVerdict.REVIEW
    clinic.fill({"person.does_not_tolerate": ["cohesive"]})
    assert holding(clinic.visit, plan).verdict is PlanVerdict.VOID


# 23.5 cm when planned: 10 % is 21.15 and 25.85 cm, 15 % is 19.975 and 27.025 cm.
@pytest.mark.parametrize(
    ("ankle", "verdict"),
    [
        (21.2, PlanVerdict.HOLDS),
        (21.1, PlanVerdict.REVIEW),
        (20.0, PlanVerdict.REVIEW),
        (19.9, PlanVerdict.VOID),
        (17.3, PlanVerdict.VOID),
        (25.8, PlanVerdict.HOLDS),
        (25.9, PlanVerdict.REVIEW),
        (27.1, PlanVerdict.VOID),
    ],
)
def test_a_girth_beyond_policy_asks_for_review_or_voids(clinic, ankle, verdict) -> None:
    found = held(clinic, leg__girth_cm__ankle=ankle)
    assert found.verdict is verdict
    if verdict is not PlanVerdict.HOLDS:
        assert f"Girth at the ankle 23.5 → {ankle:g} cm" in found.words


def test_a_wound_at_another_place_voids_and_a_closed_one_asks_for_review(clinic) -> None:
    found = held(clinic, leg__wound__place="shin")
    assert found.verdict is PlanVerdict.VOID
    assert "Wound: shin, when planned inner ankle" in found.words


def test_another_purpose_voids(clinic) -> None:
    found = held(clinic, leg__purpose="palliative")
    assert found.verdict is PlanVerdict.VOID
    assert "for palliative, the plan for venous ulcer" in found.words


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("toes.colour", "bluer"),
        ("toes.warmth", "cold"),
        ("toes.feeling", "no toe"),
        ("toes.movement", "no toe"),
        ("look.pain", 10),
        ("leg.findings.gangrene", True),
    ],
)
def test_what_is_seen_today_voids(clinic, path, value) -> None:
    found = held(clinic, **{path: value})
    assert found.verdict is PlanVerdict.VOID
    assert found.words.startswith("Stop and refer")


@pytest.mark.parametrize("path", ["toes.colour", "look.pain", "leg.findings.rest_pain"])
def test_what_was_not_looked_at_today_asks_for_it_and_voids_nothing(clinic, path) -> None:
    found = held(clinic, **{path: None})
    assert found.verdict is PlanVerdict.REVIEW
    assert "Not yet" in found.words


def test_a_lower_maximum_voids(clinic) -> None:
    found = held(clinic, person__can_report_pain=False, person__daily_observer="A daughter")
    assert "Today's maximum is 40 mmHg, this plan's 60 mmHg" in found.words
    assert found.verdict is PlanVerdict.VOID


def test_a_policy_tightened_since_asks_for_review_and_says_so(clinic, monkeypatch, policy) -> None:
    plan = clinic.approved()
    tight = with_values(policy, full_maximum_mmhg=45)
    monkeypatch.setattr(module, "local_policy", lambda: tight)
    found = holding(clinic.visit, plan)
    assert found.verdict is PlanVerdict.REVIEW
    assert "maximum is 45 mmHg, this plan's 60 mmHg" in found.words
    assert "Local policy has changed since" in found.words


def test_a_rule_of_the_person_that_is_new_asks_for_review(clinic) -> None:
    found = held(clinic, person__raynaud=True)
    assert found.verdict is PlanVerdict.REVIEW
    assert "New since the plan" in found.words


def test_a_material_that_ran_out_is_not_replaced_by_another(clinic) -> None:
    plan = clinic.approved()
    layer = leg_of(plan_of(plan)).systems[0].layers[0]
    item = set_stock_item(
        clinic.actor(), None, material=layer.material, width_cm=layer.width_cm, rolls=1, low_at=0
    )
    assert holding(clinic.visit, plan).holds
    stock_change(clinic.actor(), item, -1, "")
    found = holding(clinic.visit, plan)
    assert found.verdict is PlanVerdict.REVIEW
    assert found.only_stock
    assert f"{layer.title} has run out" in found.words


def test_a_case_of_an_older_program_asks_for_review(clinic, monkeypatch) -> None:
    plan = clinic.approved()
    monkeypatch.setattr(module, "case_then", lambda _plan: None)
    assert "an older program" in holding(clinic.visit, plan).words


def test_bandaging_writes_the_void_down(clinic) -> None:
    plan = clinic.approved()
    clinic.fill({"leg.girth_cm.ankle": 17.3})
    with pytest.raises(InputError, match=r"23\.5 → 17\.3 cm"):
        record_bandaging(clinic.actor(), clinic.visit, plan, clinic.visit.day + timedelta(days=2))
    plan.refresh_from_db()
    assert plan.state == PlanRecord.State.VOIDED
    assert "17.3 cm" in plan.ended_why
    assert plan.ended_by is None
    assert plan_in_force(clinic.episode) is None


def test_signing_writes_the_void_down(clinic) -> None:
    plan = clinic.approved()
    clinic.fill({"leg.purpose": "palliative"})
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    plan.refresh_from_db()
    assert plan.state == PlanRecord.State.VOIDED


def test_what_asks_for_review_ends_no_plan(clinic) -> None:
    plan = clinic.approved()
    clinic.fill({"leg.girth_cm.ankle": 21.0})
    with pytest.raises(InputError, match="plan anew"):
        record_bandaging(clinic.actor(), clinic.visit, plan, clinic.visit.day + timedelta(days=2))
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    assert plan_in_force(clinic.episode) == plan
