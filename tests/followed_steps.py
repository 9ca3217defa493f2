"""What must follow once the lists of docs/steps.md were followed; run by tests/test_steps.py.

It runs in a copy of the program. Here, where no list was followed, nothing of it would hold, so
its name keeps it from being collected.
"""

import json
import tomllib
from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse

import gaiter
from gaiter.core.case import Case, Training
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import plan
from gaiter.core.safety import RULES, Outcome, decide, screen_paths
from gaiter.files.case_file import case_from_mapping, read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from gaiter.files.schema import schema_json
from gaiter.records.actions.visits import Typed, open_visit, save_entries, sign_visit
from gaiter.records.ledger import Actor
from gaiter.records.models import Role
from gaiter.records.visit.boxes import SECTIONS, boxes
from gaiter.records.visit.case import assembled
from gaiter.web.frame.menu import menu_of
from gaiter.web.plan.desk import computed_plan
from gaiter.web.practice.task import practice_case
from scripts.answer import cases
from scripts.safety_page import page
from tests.strategies import case_mapping

ROOT = Path(__file__).parents[1]
MID_CALF = Landmark("mid_calf")


def with_findings(**found: object) -> Case:
    made = case_mapping()
    # Answered, so that the example rule lets the leg be planned.
    made["legs"]["right"]["findings"] |= {"burn": False, **found}
    return case_from_mapping(made)


def planned(made: Case):
    return plan(made, shipped_policy(), shipped_catalogue(), samples=256).legs[Side.RIGHT]


def visit_page(client, clinic) -> str:
    client.force_login(
        clinic.accounts["bandager"], backend="django.contrib.auth.backends.ModelBackend"
    )
    return client.get(reverse("visit", args=[clinic.visit.pk])).content.decode()


def test_this_is_the_copy() -> None:
    assert Path(gaiter.__file__).is_relative_to(ROOT)


# --- a visit field ---------------------------------------------------------------------------


def test_a_field_is_in_the_schema_and_is_a_box_that_refuses_in_words() -> None:
    findings = json.loads(schema_json("case"))["$defs"]["Findings"]["properties"]
    assert findings["ankle_swing_deg"]["unit"] == "degrees"
    box = boxes()["leg.findings.ankle_swing_deg"]
    assert (box.label, box.unit, box.parsed("35")) == ("How far the ankle moves", "degrees", 35)
    with pytest.raises(InputError, match="a whole number, 0 to 90 degrees; received 91"):
        box.parsed("91")
    section = next(one for one in SECTIONS if one.key == "leg")
    assert box.path in section.paths


def test_a_field_is_asked_kept_carried_over_and_part_of_the_case(clinic, client) -> None:
    assert "How far the ankle moves" in visit_page(client, clinic)
    path = "leg.findings.ankle_swing_deg"
    save_entries(clinic.actor(), clinic.visit, [Typed(path, 35, 0)])
    assert assembled(clinic.visit).value(path) == 35
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=7))
    next_week = Actor(clinic.accounts["bandager"], "", clinic.actor().now + timedelta(days=7))
    later = assembled(open_visit(next_week, clinic.episode))
    assert later.known[path].value == 35
    assert later.known[path].carried
    assert with_findings(ankle_swing_deg=35).legs[Side.RIGHT].findings.ankle_swing_deg == 35


# --- a safety rule ---------------------------------------------------------------------------


def test_a_rule_asks_stops_and_says_who_is_asked() -> None:
    def decided(**found):
        return decide(with_findings(**found), shipped_policy()).legs[Side.RIGHT]

    assert decided().outcome is Outcome.FULL
    assert decided(burn=None).outcome is Outcome.NOT_YET
    stopped = decided(burn=True)
    assert stopped.outcome is Outcome.STOP
    assert "fresh_burn" in {reason.code for reason in stopped.reasons}
    assert "leg.findings.burn" in screen_paths()
    assert RULES["fresh_burn"].danger == "fresh burn"


def test_a_rule_is_on_the_screen_and_on_the_page_of_rules(clinic, client) -> None:
    screen = next(one for one in SECTIONS if one.key == "screen")
    group = next(one for one in screen.groups if "leg.findings.burn" in one.paths)
    assert group.title == "Red flags"
    assert "Fresh burn of this leg" in visit_page(client, clinic)
    text = page()
    assert "| Fresh burn of this leg | `fresh_burn` |" in text
    assert "Fresh burn: no compression before" in text


def test_no_shipped_case_waits_for_the_answer() -> None:
    """The command answered it in every example and practice leg; a practice leg is planned."""
    read = [read_case(path) for path in cases() if path.suffix == ".toml"]
    legs = [leg for made in read for leg in decide(made, shipped_policy()).legs.values()]
    assert len(legs) > 20
    assert not [one for leg in legs for one in leg.reasons if "burn" in one.text.lower()]
    assert "burn = false" in (ROOT / "docs/case.md").read_text()
    assert computed_plan(practice_case("ordinary-leg")).legs[Side.RIGHT].systems


def test_demo_and_study_answer_by_themselves() -> None:
    from gaiter.core.cohort.legs import case_for
    from gaiter.operations.demo.people import EVERY_VISIT

    assert EVERY_VISIT["leg.findings.burn"] is False
    leg = with_findings().legs[Side.RIGHT]
    sound = case_for(leg, None, leg.purpose, Training.TRAINED, shipped_policy())
    assert sound.legs[Side.RIGHT].findings.burn is False


# --- a page ----------------------------------------------------------------------------------


def test_a_page_stands_in_the_menu_of_its_roles() -> None:
    place = {role: [name for name, _title in menu_of(role)] for role in Role}
    assert place["manager"].index("systems") == place["manager"].index("stock") + 1
    assert {role for role, names in place.items() if "systems" in names} == {
        Role.MANAGER, Role.PRESCRIBER, Role.BANDAGER,
    }  # fmt: skip


def test_a_page_opens_for_its_roles_and_verbs_only(clinic, client) -> None:
    address = reverse("systems")
    assert client.get(address)["Location"].startswith(reverse("sign-in"))
    for role, status in (("manager", 200), ("bandager", 200), ("learner", 403)):
        client.force_login(
            clinic.accounts[role], backend="django.contrib.auth.backends.ModelBackend"
        )
        assert client.get(address).status_code == status, role
    client.force_login(
        clinic.accounts["manager"], backend="django.contrib.auth.backends.ModelBackend"
    )
    answer = client.get(address)
    assert "<li>Four layers (Wirral trial" in answer.content.decode()
    assert f'<a href="{address}" aria-current="page">' in answer.content.decode()
    assert answer["Cache-Control"] == "no-store"
    assert client.post(address).status_code == 405


# --- a landmark ------------------------------------------------------------------------------


def measured(**numbers: float) -> Case:
    made = case_mapping()
    leg = made["legs"]["right"]
    leg["findings"]["burn"] = False
    for table, value in numbers.items():
        leg[table]["mid_calf"] = value
    return case_from_mapping(made)


def test_a_landmark_has_its_boxes_and_its_words() -> None:
    assert MID_CALF.label == "mid calf"
    girth, height = boxes()["leg.girth_cm.mid_calf"], boxes()["leg.position_cm.mid_calf"]
    assert (girth.label, girth.unit) == ("Girth half way between gaiter and calf", "cm")
    with pytest.raises(InputError, match="14 to 42 cm; received 50"):
        height.parsed("50")
    section = next(one for one in SECTIONS if one.key == "measure")
    assert {girth.path, height.path} <= set(section.paths)


def test_a_landmark_left_out_is_estimated_and_named_so() -> None:
    leg = planned(measured())
    assert {"girth_cm.mid_calf", "position_cm.mid_calf"} <= set(leg.surface.estimated)
    low, high = leg.surface.girth_cm[Landmark.GAITER], leg.surface.girth_cm[Landmark.CALF]
    assert low < leg.surface.girth_cm[MID_CALF] < high


def test_a_landmark_that_is_measured_shapes_the_leg_and_is_judged() -> None:
    from gaiter.core.plan.rebuilt import bandaged_leg_of

    girths = case_mapping()["legs"]["right"]["girth_cm"]
    between = round((2 * girths["ankle"] + girths["calf"]) / 3, 1)
    leg = planned(measured(girth_cm=between, position_cm=25.0))
    assert not {name for name in leg.surface.estimated if "mid_calf" in name}
    surface = bandaged_leg_of(leg).bare
    assert surface.girth_at_cm(MID_CALF) == pytest.approx(between, abs=0.05)
    site = next(one for one in leg.systems[0].sites if one.landmark is MID_CALF)
    assert site.target_low_mmhg == pytest.approx(0.6 * leg.target.gaiter_low_mmhg)
    assert site.chance_in_range is not None


def test_an_estimate_beside_it_stays_under_it() -> None:
    made = case_mapping()
    leg = made["legs"]["right"]
    leg["findings"]["burn"] = False
    ankle_cm = leg["position_cm"]["ankle"]
    leg["position_cm"] |= {"gaiter": None, "mid_calf": ankle_cm + 5}
    found = planned(case_from_mapping(made)).surface.position_cm
    assert ankle_cm < found[Landmark.GAITER] < found[MID_CALF] == ankle_cm + 5


def test_heights_stay_in_order_with_it() -> None:
    with pytest.raises(InputError, match="position_cm.calf must be more than position_cm.mid_calf"):
        measured(girth_cm=30.0, position_cm=41.0)


def test_mark_spacings_are_read_at_it() -> None:
    from gaiter.core.applied.judge import applied_pressure
    from gaiter.core.applied.readings import Readings, Spacing

    made = plan(measured(), shipped_policy(), shipped_catalogue(), samples=256)
    system = made.legs[Side.RIGHT].systems[0]
    layer = next(one for one in system.layers if one.fabric)
    spacings = [Spacing(layer=layer.number, place=MID_CALF, cm=layer.mark_spacing_cm)]
    readings = Readings(
        document="gaiter.readings/1", side=Side.RIGHT, system=system.name, spacings=spacings
    )
    assert applied_pressure(made, readings).sites


def test_a_plan_of_before_it_was_known_is_drawn() -> None:
    from gaiter.core.draw.surface_drawing import surface_map
    from gaiter.core.plan.rebuilt import bandaged_leg_of

    leg = planned(measured())
    known = {
        table: {site: cm for site, cm in getattr(leg.surface, table).items() if site != MID_CALF}
        for table in ("girth_cm", "position_cm")
    }
    older = leg.model_copy(update={"surface": leg.surface.model_copy(update=known)})
    built = bandaged_leg_of(older)
    assert "girth_cm.mid_calf" in built.measured.estimated
    assert surface_map(older, older.systems[0], built, 0.93)


# --- a material and a bandage system ------------------------------------------------------------


def test_a_material_is_in_stock_and_on_the_page(clinic, client) -> None:
    made = case_mapping() | {"stock": {"soft_short_stretch": {"rolls": 4}}}
    assert case_from_mapping(made).stock["soft_short_stretch"].rolls == 4
    client.force_login(
        clinic.accounts["manager"], backend="django.contrib.auth.backends.ModelBackend"
    )
    assert "Soft short-stretch bandage" in client.get(reverse("stock")).content.decode()


def test_a_system_is_planned_with_its_material_and_the_published_reasons() -> None:
    leg = planned(with_findings())
    made = next(one for one in leg.systems if one.name == "wool_soft_short_stretch")
    assert [layer.material for layer in made.layers][-1] == "soft_short_stretch"
    assert any("high working pressure" in text for text in made.reasons_for)
    listed = tomllib.loads((ROOT / "src/gaiter/data/systems.toml").read_text())["systems"]
    assert list(shipped_catalogue().systems) == list(listed)
