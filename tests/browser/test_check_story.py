"""A bad check in the system's Chromium: taken off, looked at again, an emergency, cleared."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import refuses
from tests.browser.test_days import leg_of
from tests.browser.test_safety_story import post

pytestmark = pytest.mark.long

NAME = "Ada Fenwick"


def answer(page, **seen) -> None:
    """Fills every box of the check, good where nothing else is said, and signs it."""
    good = {
        "colour": "same", "refill": "within 2 to 3 seconds", "warmth": "warm",
        "feeling": "every toe", "movement": "every toe", "fingers": "yes", "comfort": "yes",
        "shoe": "yes", "pain": "1",
    }  # fmt: skip
    page.get_by_label("at a later look").first.check()
    for name, value in (good | seen).items():
        if name == "pain":
            page.locator('input[name="pain"]').first.fill(value)
        else:
            page.locator(f'input[name="{name}"][value="{value}"]').first.check()
    page.get_by_role("button", name="Sign the check").first.click()


@pytest.fixture
def check_page(server, sign_in):
    """The check page of a leg that was bandaged at its last visit, for a role."""

    def opened(username):
        page = sign_in(server, username)
        leg_of(page, server, NAME)
        visit = page.locator('.moments a[href^="/visits/"]').first.get_attribute("href")
        page.goto(f"{server.address}{visit.rstrip('/')}/check/")
        return page

    return opened


def test_a_bad_check_from_take_it_off_now_to_cleared(server, check_page, sign_in) -> None:
    nurse = check_page("rowan")
    answer(nurse, colour="paler", warmth="cold", pain="8")
    alarm = nurse.locator("#alarm")
    expect(alarm).to_contain_text("TAKE IT OFF NOW")
    expect(alarm).to_contain_text("Whom to call")
    # Full width and first: nothing of the page stands beside or above it.
    box = alarm.bounding_box()
    work = nurse.locator("#work").bounding_box()
    assert box["width"] > 0.9 * work["width"]
    assert box["y"] < nurse.locator("h1").bounding_box()["y"]
    assert float(alarm.locator("h2").evaluate("e => parseFloat(getComputedStyle(e).fontSize)")) > 30

    # Anyone records it off: the learner, who sees no patient, by the reference on the tape.
    reference = nurse.locator(".pinned span").nth(1).inner_text()
    learner = sign_in(server, "wicket")
    learner.goto(f"{server.address}/off/")
    learner.get_by_label("Reference on the tape").fill(reference)
    learner.get_by_label("taken off", exact=True).check()
    learner.get_by_role("button", name="Record it").click()
    expect(learner.locator("main")).to_contain_text("look at the toes again")
    expect(learner.locator("main")).not_to_contain_text(NAME)

    nurse.reload()
    expect(alarm).to_contain_text("It is off: look at the toes again")
    bandaging = alarm.locator("form").get_attribute("action")
    nurse.get_by_role("button", name="Not as before").click()
    expect(alarm).to_contain_text("SAME-DAY VASCULAR EMERGENCY")
    nurse.get_by_label("Handed over to whom").fill("Vascular registrar on call, 10:40")
    nurse.get_by_role("button", name="Handed over").click()
    expect(alarm).to_contain_text("Handed over as an emergency")
    expect(nurse.get_by_role("button", name="Clear the leg")).to_have_count(0)

    # A manager opens no page of the leg and reads no name; taking off is anybody's.
    manager = sign_in(server, "alder")
    refuses(manager, server, NAME, nurse.url.removeprefix(server.address))
    manager.goto(f"{server.address}/off/")
    expect(manager.get_by_label("Reference on the tape")).to_be_visible()
    assert post(manager, bandaging, kind="cleared", words="A manager says it is clear.")[0] == 403
    learner.goto(f"{server.address}/off/")
    assert post(learner, bandaging, kind="cleared", words="A learner says it is clear.")[0] == 403
    status, said = post(nurse, bandaging, kind="cleared", words="The nurse says it is clear.")
    assert (status, "prescriber" in said) == (403, True)

    doctor = check_page("mercer")
    doctor.get_by_label("What the vascular team said").fill("Seen: open arteries, pulses good.")
    doctor.get_by_role("button", name="Clear the leg").click()
    expect(doctor.locator("#alarm")).to_have_count(0)


def test_a_tight_edge_is_loosened_and_good_again(check_page) -> None:
    nurse = check_page("sedge")
    answer(nurse, fingers="no")
    expect(nurse.locator("#alarm")).to_contain_text("Loosen it and look again")
    nurse.get_by_role("button", name="It is loosened").click()
    nurse.get_by_role("button", name="Good now").click()
    expect(nurse.locator("#alarm")).to_have_count(0)


def test_name_and_side_stay_in_sight_when_the_page_scrolls(check_page) -> None:
    nurse = check_page("rowan")
    nurse.mouse.wheel(0, 1200)
    nurse.wait_for_timeout(200)
    pinned = nurse.locator(".pinned")
    expect(pinned).to_be_in_viewport()
    expect(pinned).to_contain_text(NAME)
    expect(pinned).to_contain_text("right leg")


def test_the_visit_is_not_signed_before_what_was_done_is_recorded(stories, play) -> None:
    """Every role at a numb foot: off by whoever is there, signed by nobody until resolved."""
    made = stories.ask("leg", "Runa Numb", plan="approved", on=True)
    nurse = play("bandager")
    where = f"/visits/{made['visit']}/"
    nurse.goto(f"{stories.address}{where}check/")
    answer(nurse, feeling="no toe")
    expect(nurse.locator("#alarm")).to_contain_text("TAKE IT OFF NOW")
    nurse.goto(stories.address + where)
    nurse.get_by_role("button", name="Sign the visit").click()
    expect(nurse.get_by_role("main")).to_contain_text("That was not recorded")
    for role in ("bandager", "prescriber"):
        page = play(role)
        for address in (f"/legs/{made['leg']}/", where, f"{where}plan/", f"{where}check/"):
            page.goto(stories.address + address)
            expect(page.locator("#alarm"), address).to_contain_text("TAKE IT OFF NOW")
    for role in ("learner", "manager"):
        page = play(role)
        refuses(page, stories, "Runa Numb", f"/legs/{made['leg']}/", where, f"{where}check/")
    # The manager is beside the patient: it comes off, and the manager is told what to look at.
    page.goto(f"{stories.address}/off/")
    page.get_by_label("Reference on the tape").fill(made["reference"])
    page.get_by_label("taken off", exact=True).check()
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_role("main")).to_contain_text("look at the toes again")
    expect(page.get_by_role("main")).not_to_contain_text("Runa Numb")
    nurse.goto(f"{stories.address}{where}check/")
    nurse.get_by_role("button", name="As before the bandage").click()
    expect(nurse.locator("#alarm")).to_have_count(0)
