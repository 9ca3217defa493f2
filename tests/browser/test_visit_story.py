"""The visit as it is lived: red flags first, one press, a stop at once, and few touches."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from gaiter.operations.demo.people import PASSWORD
from tests.browser.test_days import fill, leg_of, saved

pytestmark = pytest.mark.long

TOES = {
    "toes.colour": "same",
    "toes.refill": "within 2 to 3 seconds",
    "toes.warmth": "warm",
    "toes.feeling": "every toe",
    "toes.movement": "every toe",
}


def new_leg(page, server, number) -> None:
    """A new patient, and the first visit of the right leg."""
    page.goto(f"{server.address}/people/new/")
    page.get_by_label("Name").fill(f"Story {number} Invented")
    page.get_by_label("Born").fill("1950-04-04")
    page.get_by_label("Number in the clinic").fill(f"ST-{number}")
    page.get_by_role("button", name="Add").click()
    page.get_by_role("button", name="Start with the right leg").click()


def press(page) -> None:
    page.get_by_role("button", name="Asked all of these, none present").click()
    expect(page.locator("#section-screen")).to_contain_text(
        re.compile(r"Asked all of these, none present: .+, \d\d:\d\d")
    )


def box(page, path):
    return page.locator(f'.box[data-path="{path}"]')


@pytest.mark.parametrize(("username", "width"), [("rowan", 820), ("mercer", 1280)])
def test_a_red_flag_stops_before_measuring_and_is_referred(
    server, sign_in, username, width
) -> None:
    page = sign_in(server, username, width)
    new_leg(page, server, f"1{username}")
    decision = page.locator("#decision")
    expect(decision).to_contain_text("Not yet: ask or measure this first")
    press(page)
    expect(decision).not_to_contain_text("Stop and refer")
    fill(page, "leg.findings.gangrene", True)
    expect(decision).to_contain_text("Stop and refer: no compression", timeout=10_000)
    expect(decision).to_contain_text("vascular team")
    page.mouse.wheel(0, 3000)
    expect(decision).to_be_in_viewport()
    page.get_by_role("button", name="Sign the visit").scroll_into_view_if_needed()
    day = page.evaluate("new Date(Date.now() + 7 * 864e5).toISOString().slice(0, 10)")
    page.get_by_label("Next visit").fill(day)
    page.get_by_role("button", name="Sign the visit").click()
    expect(page.get_by_role("main")).to_contain_text("Say first to whom the person was referred")
    page.go_back()
    page.get_by_label("Referred to").fill("Vascular team, Dr Vale")
    page.get_by_role("button", name="Record the referral").click()
    expect(page.locator("#safety")).to_contain_text("Referred to Vascular team, Dr Vale")
    page.get_by_label("Next visit").fill(day)
    page.get_by_role("button", name="Sign the visit").click()
    expect(page.get_by_role("main")).to_contain_text("The visit is signed.")


def test_what_was_ticked_before_the_press_stays(server, sign_in) -> None:
    page = sign_in(server, "rowan")
    new_leg(page, server, 2)
    fill(page, "leg.findings.new_pain", True)
    press(page)
    expect(box(page, "leg.findings.new_pain").get_by_label("yes", exact=True)).to_be_checked()
    expect(box(page, "leg.findings.gangrene").get_by_label("no", exact=True)).to_be_checked()
    expect(page.locator("#decision")).to_contain_text("New pain")


def test_since_when_opens_with_its_sign_and_shuts_again(server, sign_in) -> None:
    page = sign_in(server, "rowan")
    new_leg(page, server, 3)
    sign, since = (f"leg.findings.clot.{part}.whole_leg_swollen" for part in ("signs", "old_signs"))
    expect(box(page, since)).to_be_hidden()
    fill(page, sign, True)
    expect(box(page, since)).to_be_visible()
    expect(page.get_by_text("The rest of the clot score")).to_be_visible()
    expect(box(page, "leg.findings.clot.signs.active_cancer")).to_be_visible()
    fill(page, sign, False)
    expect(box(page, since)).to_be_hidden()
    saved(page)


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("toes.colour", "bluer", "Toes bluer"),
        ("toes.warmth", "cold", "Toes cold"),
        ("toes.feeling", "no toe", "No feeling in the toes"),
        ("toes.movement", "no toe", "Toes do not move"),
        ("look.pain", 10, "Pain 10 of 10"),
    ],
)
def test_toes_and_pain_change_the_decision_at_once(server, sign_in, path, value, words) -> None:
    page = sign_in(server, "rowan")
    new_leg(page, server, f"4{path}")
    fill(page, path, value)
    decision = page.locator("#decision")
    expect(decision).to_contain_text("Stop and refer", timeout=10_000)
    expect(decision).to_contain_text(words)


def test_a_prescriber_sets_one_stop_aside_and_the_other_stands(server, sign_in) -> None:
    page = sign_in(server, "mercer", 1280)
    new_leg(page, server, 5)
    press(page)
    fill(page, "person.breathless_lying", True)
    fill(page, "leg.findings.necrosis_risk", True)
    saved(page)
    forms = page.get_by_text("Set this one stop aside:")
    expect(forms).to_have_count(2)
    forms.filter(has_text="small vessels").click()
    form = page.locator("#safety form", has=page.get_by_role("button", name="Set this stop aside"))
    form = form.filter(visible=True)
    for label, value in (
        ("Aim from, mmHg", "15"), ("Aim to, mmHg", "20"), ("Never above, mmHg", "25"),
        ("In your words", "The vascular team agreed today."), ("Your password", PASSWORD),
    ):  # fmt: skip
        form.get_by_label(label).fill(value)
    form.get_by_role("button", name="Set this stop aside").click()
    expect(page.locator("#safety")).to_contain_text("aim 15–20, never above 25 mmHg")
    expect(page.locator("#decision")).to_contain_text("Stop and refer")
    expect(page.get_by_text("Set this one stop aside:")).to_have_count(1)


def test_a_follow_up_of_an_unchanged_leg_takes_under_twenty_touches(
    fragile_server, sign_in
) -> None:
    page = sign_in(fragile_server, "sedge")
    leg_of(page, fragile_server, "Ada Fenwick")
    page.get_by_role("button", name=re.compile("visit")).first.click()
    touches = 0
    press(page)
    touches += 1
    for path, value in {
        **TOES, "look.pain": 1, "leg.girth_cm.ankle": 23.5, "leg.girth_cm.calf": 37,
        "look.hours_worn": 160, "look.came_off": "in place", "look.marks": False,
    }.items():  # fmt: skip
        fill(page, path, value)
        touches += 1
    saved(page)
    decision = page.locator("#decision")
    expect(decision).not_to_contain_text("still to ask", timeout=10_000)
    expect(decision).to_contain_text(re.compile(r"(Full|Reduced): aim \d+–\d+, never above \d+"))
    expect(page.locator("#section-measure")).not_to_contain_text("still missing")
    day = page.evaluate("new Date(Date.now() + 7 * 864e5).toISOString().slice(0, 10)")
    page.get_by_label("Next visit").fill(day)
    page.get_by_role("button", name="Sign the visit").click()
    touches += 2
    expect(page.get_by_role("main")).to_contain_text("The visit is signed.")
    assert touches < 20


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_serious_for_axe_with_a_stop_its_forms_and_an_open_date(
    server, sign_in, scheme
) -> None:
    page = sign_in(server, "mercer", 820)
    new_leg(page, server, f"6{scheme}")
    page.emulate_media(color_scheme=scheme)
    assert serious(page) == []
    press(page)
    for path in ("person.breathless_lying", "leg.findings.clot.signs.whole_leg_swollen"):
        fill(page, path, True)
    saved(page)
    expect(page.locator("#decision")).to_contain_text("Stop and refer", timeout=10_000)
    page.get_by_text("Set this one stop aside:").first.click()
    assert serious(page) == []
    over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert over <= 0


def serious(page) -> list:
    found = Axe().run(page).response["violations"]
    return [
        (v["id"], [node["target"] for node in v["nodes"]][:3])
        for v in found
        if v["impact"] in ("serious", "critical")
    ]
