"""Safety first, alone, in the system's Chromium: red flags, not yet, a soft stop, in every role."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import refuses
from tests.browser.test_days import fill, saved
from tests.clinic import PASSWORD

pytestmark = pytest.mark.long

STOP = "Stop and refer: no compression"


def box(page, path):
    return page.locator(f'.box[data-path="{path}"]')


def visit_page(page, stories, made):
    page.goto(f"{stories.address}/visits/{made['visit']}/")
    return page.locator("#decision")


def leg_page(page, stories, made):
    page.goto(f"{stories.address}/legs/{made['leg']}/")
    return page.locator("#safety-and-plan")


def post(page, address, **fields) -> tuple[int, str]:
    """What a form that the page does not offer would be answered."""
    answer = page.evaluate(
        """async ([address, fields]) => {
          const token = document.querySelector('[name=csrfmiddlewaretoken]').value;
          const body = new URLSearchParams({...fields, csrfmiddlewaretoken: token});
          const answer = await fetch(address, {method: 'POST', body});
          return [answer.status, await answer.text()];
        }""",
        [address, fields],
    )
    return answer[0], answer[1]


def first_visit(nurse, stories, name) -> str:
    """A new patient from the Today page; the address of the visit, in which nothing is said."""
    nurse.goto(stories.address)
    nurse.get_by_role("link", name="New patient").click()
    nurse.get_by_label("Name").fill(name)
    nurse.get_by_label("Born").fill("1950-04-04")
    nurse.get_by_label("Number in the clinic").fill("HF-" + name[:4])
    nurse.get_by_role("button", name="Add").click()
    nurse.get_by_role("button", name="Start with the right leg").click()
    nurse.wait_for_url(re.compile(r"/visits/\d+/"))
    return nurse.url.removeprefix(stories.address)


def test_a_red_flag_stops_before_any_girth_until_a_prescriber_clears_it(stories, play) -> None:
    nurse = play("bandager")
    visit = first_visit(nurse, stories, "Gorm Flagg")
    decision = nurse.locator("#decision")
    expect(decision).to_contain_text("Not yet: ask or measure this first")
    fill(nurse, "leg.findings.gangrene", value=True)
    saved(nurse)
    expect(decision).to_contain_text(STOP)
    expect(decision).to_contain_text("Refer to: vascular team")
    assert "give a table" not in nurse.content()

    # A seven-day signature is what one could get before: it asks for the named referral now.
    nurse.get_by_role("button", name="Sign the visit").click()
    main = nurse.get_by_role("main")
    expect(nurse.locator("#next_visit:invalid")).to_have_count(1)
    tomorrow = nurse.evaluate("new Date(Date.now() + 864e5).toISOString().slice(0, 10)")
    nurse.get_by_label("Next visit").fill(tomorrow)
    nurse.get_by_role("button", name="Sign the visit").click()
    expect(main).to_contain_text("Say first to whom the person was referred, and when")
    nurse.goto(stories.address + visit)
    nurse.get_by_label("Referred to").fill("Dr Vale, vascular ward")
    nurse.get_by_role("button", name="Record the referral").click()
    expect(nurse.locator("#safety")).to_contain_text("Referred to Dr Vale, vascular ward on")
    nurse.get_by_label("Next visit").fill(tomorrow)
    nurse.get_by_role("button", name="Sign the visit").click()
    expect(main).to_contain_text("The visit is signed.")

    # The next visit answers no; the stop stays on the leg page, Today and before the bandage.
    leg = nurse.url
    nurse.get_by_role("button", name="Start today's visit").click()
    fill(nurse, "leg.findings.gangrene", value=False)
    saved(nurse)
    expect(nurse.locator("#decision")).not_to_contain_text(STOP)
    nurse.goto(leg)
    uncleared = "Referred to Dr Vale, vascular ward on"
    expect(nurse.locator("#safety-and-plan")).to_contain_text(uncleared)
    expect(nurse.locator("#safety-and-plan")).to_contain_text("not cleared by a prescriber")
    expect(nurse.get_by_text("Clear this stop")).to_have_count(0)
    nurse.goto(stories.address)
    line = nurse.locator("a.leg-line", has_text="Gorm Flagg")
    expect(line).to_contain_text("not cleared")

    for role in ("learner", "manager"):
        refuses(play(role), stories, "Gorm Flagg", leg.removeprefix(stories.address), visit)

    doctor = play("prescriber")
    doctor.goto(leg)
    doctor.get_by_text("Clear this stop (prescriber)").click()
    doctor.get_by_label("Why it stands no more").fill("Dry scab, lifted: living skin under it.")
    doctor.get_by_role("button", name="Clear it").click()
    expect(doctor.locator("#safety-and-plan")).not_to_contain_text("not cleared by a prescriber")
    doctor.goto(stories.address + "/?show=all")
    line = doctor.locator("a.leg-line", has_text="Gorm Flagg")
    expect(line).not_to_contain_text("not cleared")


def test_one_press_says_who_and_when_and_never_answers_what_it_must_not(stories, play) -> None:
    made = stories.ask(
        "leg", "Ossian Press", {"leg.findings.new_pain": True}, days_ago=7
    )  # what was present last time is asked again, alone
    nurse = play("bandager")
    leg_page(nurse, stories, made)
    nurse.get_by_role("button", name="Start today's visit").click()
    visit = nurse.url
    nurse.get_by_role("button", name="Asked all of these, none present").click()
    press = nurse.locator('[data-slot="press"]')
    expect(press).to_contain_text(
        re.compile(r"Asked all of these, none present: Invented bandager, \d\d:\d\d")
    )
    expect(box(nurse, "leg.findings.gangrene").get_by_label("no", exact=True)).to_be_checked()
    for path in (
        "leg.findings.new_pain", "toes.colour", "toes.refill", "toes.warmth", "toes.feeling",
        "toes.movement",
    ):  # fmt: skip
        expect(box(nurse, path).get_by_label("not said")).to_be_checked()
    expect(box(nurse, "look.pain").get_by_role("textbox")).to_have_value("")
    expect(box(nurse, "leg.arterial.toe_mmhg").get_by_role("textbox")).to_have_value("")
    expect(box(nurse, "leg.findings.new_pain")).to_contain_text("counts: yes")
    expect(nurse.locator("#decision")).to_contain_text("1 bad answer of last time to look at again")

    doctor = play("prescriber")
    doctor.goto(visit)
    expect(doctor.locator('[data-slot="press"]')).to_contain_text("Invented bandager")
    for role in ("learner", "manager"):
        refuses(play(role), stories, "Ossian Press", visit.removeprefix(stories.address))


def test_not_yet_has_no_plan_before_a_prescriber_chooses_the_provisional_level(
    stories, play
) -> None:
    made = stories.ask("leg", "Pim Waits", {"leg.findings.wound": "leg"}, arteries=False)
    nurse = play("bandager")
    expect(visit_page(nurse, stories, made)).to_contain_text("Not yet")
    expect(nurse.locator("#safety")).to_contain_text(
        "A prescriber, or a standing order of the clinic, may choose"
    )
    expect(nurse.get_by_role("button", name="Choose the provisional level")).to_have_count(0)
    status, said = post(
        nurse, f"/visits/{made['visit']}/provisional/", words="The leg weeps, no probe.",
        password=PASSWORD,
    )  # fmt: skip
    assert (status, "Only a prescriber may choose the provisional level" in said) == (403, True)
    nurse.goto(f"{stories.address}/visits/{made['visit']}/plan/")
    main = nurse.get_by_role("main")
    expect(main).to_contain_text("Not yet")
    expect(main).to_contain_text("No ABI (ABPI): measure an arm and an ankle pressure")
    expect(nurse.get_by_role("button", name="Put it up for approval")).to_have_count(0)

    for role in ("learner", "manager"):
        page = play(role)
        where = f"/visits/{made['visit']}/"
        refuses(page, stories, "Pim Waits", where, f"{where}plan/")
        assert post(page, f"{where}provisional/", words="Because I say so.")[0] == 403

    doctor = play("prescriber", 1440)
    decision = visit_page(doctor, stories, made)
    doctor.get_by_text("Use local policy's provisional level, at most 20 mmHg").click()
    doctor.get_by_label("Why it cannot wait").fill("The leg weeps; the probe comes tomorrow.")
    doctor.locator("#pp").fill(PASSWORD)
    doctor.get_by_role("button", name="Choose the provisional level").click()
    expect(decision).to_contain_text("never above 20 mmHg at the gaiter")
    doctor.get_by_role("link", name="To the plan").click()
    doctor.get_by_role("button", name="Go on to approve").click()
    expect(doctor.get_by_role("main")).to_contain_text("never above 20 mmHg at the gaiter")
    approve(doctor)

    nurse.goto(f"{stories.address}/visits/{made['visit']}/check/")
    expect(nurse.get_by_role("button", name="The bandage is on")).to_be_visible()
    nurse.get_by_role("link", name="Steps on screen").click()
    expect(main).to_contain_text("never above 20 mmHg")
    visit_page(nurse, stories, made)
    nurse.get_by_role("button", name="Take it back").click()
    expect(nurse.locator("#decision")).not_to_contain_text("never above 20 mmHg")
    nurse.goto(f"{stories.address}/visits/{made['visit']}/check/")
    expect(main).to_contain_text("Do not bandage today")
    expect(nurse.get_by_role("button", name="The bandage is on")).to_have_count(0)


def approve(doctor) -> None:
    """Accepts what has to be accepted by name, and approves with the password."""
    for tick in doctor.locator('input[name="accept"]').all():
        tick.check()
    doctor.locator("#password").fill(PASSWORD)
    doctor.get_by_role("button", name="Approve this plan").click()
    expect(doctor.get_by_role("main")).to_contain_text("Approved. The sheet is ready.")


def test_soft_stops_are_set_aside_one_by_one_after_what_they_ask(stories, play) -> None:
    made = stories.ask(
        "leg", "Sten Aside", {"person.breathless_lying": True, "leg.findings.new_pain": True}
    )
    nurse = play("bandager")
    expect(visit_page(nurse, stories, made)).to_contain_text(STOP)
    expect(nurse.locator("#safety")).to_contain_text("A prescriber may set this stop aside")
    expect(nurse.locator('input[name="aim_low_mmhg"]')).to_have_count(0)
    status, _ = post(nurse, f"/visits/{made['visit']}/override/", code="breathless_lying")
    assert status == 403
    for role in ("learner", "manager"):
        refuses(play(role), stories, "Sten Aside", f"/visits/{made['visit']}/")

    doctor = play("prescriber")
    decision = visit_page(doctor, stories, made)
    aside = doctor.locator("details", has_text="Set this one stop aside")
    expect(aside).to_have_count(2)
    pain = aside.filter(has_text="the arteries measured today")
    pain.locator("summary").click()
    expect(pain).to_contain_text("Not yet. This stop can be set aside after:")
    expect(pain.get_by_role("button")).to_have_count(0)

    def set_aside(one) -> None:
        one.locator("summary").click()
        for label, value in (("Aim from", "15"), ("Aim to", "20"), ("Never above", "25")):
            one.get_by_label(label).fill(value)
        one.get_by_label("In your words").fill("Heart team asked by phone: light only.")
        one.get_by_label("Your password").fill(PASSWORD)
        one.get_by_role("button", name="Set this stop aside").click()

    set_aside(doctor.locator("details:has(input[value='breathless_lying'])"))
    expect(doctor.locator("#safety")).to_contain_text("A stop is set aside")
    expect(decision).to_contain_text(STOP)
    expect(aside).to_have_count(1)
    today = doctor.evaluate("new Date().toISOString().slice(0, 10)")
    box(doctor, "leg.arterial.measured_on").locator("input").fill(today)
    saved(doctor)
    set_aside(doctor.locator("details:has(input[value='new_pain_or_colour'])"))
    expect(decision).to_contain_text("aim 15–20, never above 25 mmHg")
    doctor.get_by_role("button", name="Let the stop stand again").first.click()
    expect(decision).to_contain_text(STOP)


@pytest.mark.parametrize(
    "path",
    ["leg.findings.rest_pain", "leg.arterial.dorsalis_pedis_mmhg"],
)
def test_an_answer_that_is_taken_back_takes_the_decision_back(stories, play, path) -> None:
    made = stories.ask("leg", f"Tove {path[-6:]}", plan="approved")
    nurse = play("bandager")
    decision = visit_page(nurse, stories, made)
    expect(decision).to_contain_text("Full: aim 20–30, never above 60 mmHg")
    one = box(nurse, path)
    if one.get_attribute("data-kind") == "answer":
        one.get_by_label("not said").check(force=True)
    else:
        one.get_by_role("textbox").fill("")
        other = box(nurse, "leg.arterial.posterior_tibial_mmhg").get_by_role("textbox")
        other.fill("")
    saved(nurse)
    expect(decision).to_contain_text("Not yet: ask or measure this first")
    nurse.goto(f"{stories.address}/visits/{made['visit']}/check/")
    expect(nurse.get_by_role("main")).to_contain_text("Do not bandage today")
    leg_page(nurse, stories, made)
    expect(nurse.locator("#safety-and-plan")).to_contain_text("Do not bandage today")


def test_what_is_ticked_counts_on_the_very_next_page(stories, play) -> None:
    """Blue toes ticked and 'Bandage and check' pressed at once: the page must not lag behind."""
    made = stories.ask("leg", "Hasse Quick", plan="approved")
    nurse = play("bandager")
    visit_page(nurse, stories, made)
    state = nurse.locator("#save-state")
    box(nurse, "toes.colour").get_by_label("bluer", exact=True).check()
    assert state.inner_text() != "Everything is saved."
    nurse.get_by_role("link", name="Bandage and check").click()
    nurse.wait_for_url(re.compile("/check/"))
    expect(nurse.get_by_role("main")).to_contain_text("Do not bandage today")
    expect(nurse.get_by_role("button", name="The bandage is on")).to_have_count(0)
