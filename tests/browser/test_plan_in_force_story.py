"""The plan in force in the system's Chromium: one plan on every page, and what ends it."""

import re
import subprocess
from datetime import date, timedelta

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import refuses
from tests.browser.test_days import fill, saved
from tests.browser.test_safety_story import approve, box, leg_page, post, visit_page

pytestmark = pytest.mark.long

MARKS = re.compile(r"\b\d+\.\d(?= cm)")


def marks(locator) -> list[str]:
    """The mark spacings [cm] of a part of a page, in the order of the layers."""
    return MARKS.findall(" ".join(locator.all_inner_texts()))


def check_page(page, stories, visit):
    page.goto(f"{stories.address}/visits/{visit}/check/")
    return page.get_by_role("main")


def plan_tab(page, stories, visit):
    page.goto(f"{stories.address}/visits/{visit}/plan/")
    return page.get_by_role("main")


def sheet_text(page, address, tmp_path) -> str:
    """What the printed sheet says."""
    file = tmp_path / "sheet.pdf"
    file.write_bytes(page.request.get(address).body())
    return subprocess.run(
        ["pdftotext", "-layout", str(file), "-"], check=True, capture_output=True, text=True
    ).stdout


def says_do_not_bandage(page, stories, made, visit, words) -> None:
    """Check page, leg page, plan page, plan tab and steps; the button is gone everywhere."""
    for address in (
        f"/visits/{visit}/check/", f"/legs/{made['leg']}/", f"/plans/{made['plan']}/",
        f"/visits/{visit}/plan/", f"/plans/{made['plan']}/sheet/",
    ):  # fmt: skip
        page.goto(stories.address + address)
        main = page.get_by_role("main")
        expect(main, address).to_contain_text("Do not bandage today")
        expect(main, address).to_contain_text(words)
        expect(page.get_by_role("button", name="The bandage is on")).to_have_count(0)
        # Nothing beside it that says the opposite of the same leg.
        expect(main, address).not_to_contain_text("still right")
        expect(main, address).not_to_contain_text("Press “The bandage is on”")
        for name in ("Steps on screen", "Sheet to print"):
            expect(page.get_by_role("link", name=name), address).to_have_count(0)


def next_visit(nurse, stories, made) -> int:
    """Begins today's visit of a leg and looks at everything as it was; the visit's number."""
    leg_page(nurse, stories, made)
    nurse.get_by_role("button", name="Start today's visit").click()
    nurse.wait_for_url(re.compile(r"/visits/\d+/"))
    visit = int(re.search(r"/visits/(\d+)/", nurse.url).group(1))
    nurse.get_by_role("button", name="Asked all of these, none present").click()
    for path, value in {
        "toes.colour": "same", "toes.refill": "within 2 to 3 seconds", "toes.warmth": "warm",
        "toes.feeling": "every toe", "toes.movement": "every toe",
    }.items():  # fmt: skip
        box(nurse, path).get_by_label(value, exact=True).check()
    fill(nurse, "look.pain", 2)
    saved(nurse)
    return visit


def test_approval_shows_every_warning_that_designing_showed(stories, play) -> None:
    made = stories.ask("leg", "Wanda Warned", {"leg.girth_cm.ankle": 17.3})
    doctor = play("prescriber", 1440)
    plan_tab(doctor, stories, made["visit"])
    shown = re.compile(r"\d+ cm. of skin above \d+ mmHg")
    warned = set(shown.findall(doctor.locator("#design").inner_text()))
    assert len(warned) > 1
    doctor.get_by_role("button", name="Go on to approve").click()
    doctor.wait_for_url(re.compile(r"/plans/\d+/"))
    approval = doctor.locator("section", has=doctor.get_by_role("heading", name="Approve")).first
    assert set(shown.findall(approval.inner_text())) == warned


def test_one_plan_on_every_page_whatever_is_proposed(stories, play, tmp_path) -> None:
    made = stories.ask("leg", "Una Same")
    visit = made["visit"]
    doctor = play("prescriber", 1440)
    plan_tab(doctor, stories, visit)
    doctor.get_by_role("button", name="Go on to approve").click()
    approve(doctor)
    plan = re.search(r"/plans/(\d+)/", doctor.url).group(1)
    table = doctor.locator("table", has=doctor.get_by_text("Marks apart")).first
    spacing = marks(table.locator("tbody tr td:nth-child(4) b"))
    assert spacing

    def same_everywhere(page) -> None:
        main = check_page(page, stories, visit)
        rows = main.locator("table", has=page.get_by_text("Marks apart")).first
        assert marks(rows.locator("tbody tr td:nth-child(2)")) == spacing
        expect(page.get_by_role("link", name="Steps on screen")).to_have_attribute(
            "href", f"/plans/{plan}/sheet/"
        )
        leg_page(page, stories, made)
        expect(page.get_by_role("link", name="The plan", exact=True)).to_have_attribute(
            "href", f"/plans/{plan}/"
        )
        assert marks(page.locator("#safety-and-plan .marks-apart")) == spacing
        page.goto(f"{stories.address}/plans/{plan}/sheet/")
        assert marks(page.locator(".huge")) == spacing
        text = sheet_text(page, f"{stories.address}/plans/{plan}/sheet.pdf", tmp_path)
        assert all(f"{one} cm" in text for one in spacing)

    nurse = play("bandager")
    same_everywhere(nurse)
    same_everywhere(doctor)

    # A proposal on another girth hides nothing; its author takes it back.
    visit_page(nurse, stories, made)
    fill(nurse, "leg.girth_cm.calf", 36)
    saved(nurse)
    plan_tab(nurse, stories, visit)
    nurse.get_by_role("button", name="Put it up for approval").click()
    nurse.wait_for_url(re.compile(r"/plans/\d+/"))
    proposal = nurse.url
    assert not proposal.endswith(f"/plans/{plan}/")
    same_everywhere(nurse)
    leg_page(nurse, stories, made)
    expect(nurse.locator("#safety-and-plan")).to_contain_text("A plan waits for approval")
    nurse.goto(proposal)
    nurse.get_by_role("button", name="Withdraw the proposal").click()
    expect(nurse.get_by_role("main")).to_contain_text("Withdrawn. It stays on record.")
    expect(nurse.locator("#safety-and-plan")).not_to_contain_text("A plan waits for approval")
    same_everywhere(nurse)

    where = f"/visits/{visit}/"
    pages = (f"{where}check/", f"{where}plan/", f"/plans/{plan}/", f"/plans/{plan}/sheet/",
             f"/plans/{plan}/sheet.pdf", f"/legs/{made['leg']}/")  # fmt: skip
    for role in ("learner", "manager"):
        page = play(role)
        refuses(page, stories, "Una Same", *pages)
        assert post(page, f"/plans/{plan}/withdraw/", words="Because I say so.")[0] == 403
        assert post(page, f"{where}bandaged/", plan=plan, off_by="2030-01-01")[0] == 403

    # Only a prescriber ends an approved plan, in words; nothing is left to bandage from.
    nurse.goto(f"{stories.address}/plans/{plan}/")
    expect(nurse.get_by_role("button", name="Withdraw this plan")).to_have_count(0)
    status, said = post(nurse, f"/plans/{plan}/withdraw/", words="Because I say so.")
    assert (status, "Only a prescriber may withdraw" in said) == (403, True)
    doctor.goto(f"{stories.address}/plans/{plan}/")
    doctor.get_by_label("Why it is withdrawn").fill("Heart team asks for no compression.")
    doctor.get_by_role("button", name="Withdraw this plan").click()
    expect(doctor.locator("#safety-and-plan")).to_contain_text("No plan is approved for this leg")
    main = check_page(nurse, stories, visit)
    expect(main).to_contain_text("No plan is approved for this leg")
    nurse.goto(f"{stories.address}/plans/{plan}/sheet/")
    expect(main).to_contain_text("Do not bandage from this plan: it was withdrawn.")


def test_todays_leg_is_a_difference_with_one_press_to_propose_it(stories, play) -> None:
    made = stories.ask("leg", "Ivo Diff", plan="approved")
    nurse = play("bandager")
    plan_tab(nurse, stories, made["visit"])
    expect(nurse.locator("#change")).to_contain_text("still right")
    visit_page(nurse, stories, made)
    fill(nurse, "leg.girth_cm.ankle", 22)
    fill(nurse, "leg.girth_cm.gaiter", 25.6)
    saved(nurse)
    main = plan_tab(nurse, stories, made["visit"])
    expect(nurse.locator("#change")).to_contain_text(
        re.compile(r"changed because the \w+ is 1\.\d cm smaller: \d+ → \d+ mmHg")
    )
    nurse.get_by_role("button", name="Put it up for approval").click()
    expect(main).to_contain_text("proposed by Invented bandager")
    doctor = play("prescriber")
    doctor.goto(nurse.url)
    approve(doctor)
    doctor.goto(f"{stories.address}/plans/{made['plan']}/")
    expect(doctor.get_by_role("main")).to_contain_text("a newer one took its place")
    plan_tab(doctor, stories, made["visit"])
    expect(doctor.locator("#change")).to_contain_text("still right")
    for role in ("learner", "manager"):
        refuses(play(role), stories, "Ivo Diff", f"/visits/{made['visit']}/plan/")


def test_an_ankle_from_23_to_17_at_the_next_visit_is_not_bandaged(stories, play) -> None:
    made = stories.ask(
        "leg", "Nils Shrinks", {"leg.girth_cm.ankle": 23.1}, plan="approved", days_ago=7
    )
    nurse = play("bandager")
    visit = next_visit(nurse, stories, made)
    fill(nurse, "leg.girth_cm.ankle", 17.3)
    saved(nurse)
    words = "Girth at the ankle 23.1 → 17.3 cm"
    says_do_not_bandage(nurse, stories, made, visit, words)
    status, said = post(
        nurse, f"/visits/{visit}/bandaged/", plan=made["plan"],
        off_by=(date.today() + timedelta(days=1)).isoformat(),
    )  # fmt: skip
    assert (status, words in said) == (400, True)
    # The attempt ended the plan; every page says so, and the prescriber plans anew.
    doctor = play("prescriber")
    leg_page(doctor, stories, made)
    expect(doctor.locator("#safety-and-plan")).to_contain_text(words)
    expect(doctor.locator("#safety-and-plan")).to_contain_text("No plan is approved for this leg")
    main = plan_tab(doctor, stories, visit)
    expect(main).not_to_contain_text("The plan in force")
    for role in ("learner", "manager"):
        page = play(role)
        refuses(page, stories, "Nils Shrinks", f"/visits/{visit}/check/")


@pytest.mark.parametrize(
    ("name", "given", "words"),
    [
        ("Lida Latex", {"person.allergies": ["latex"]}, "allergy to latex"),
        ("Blai Toes", {"toes.colour": "bluer", "toes.warmth": "cold"}, "Stop and refer"),
    ],
)
def test_what_is_found_today_ends_the_plan(stories, play, name, given, words) -> None:
    made = stories.ask("leg", name, plan="approved")
    doctor = play("prescriber")
    nurse = play("bandager")
    main = check_page(nurse, stories, made["visit"])
    expect(nurse.get_by_role("button", name="The bandage is on")).to_be_visible()
    visit_page(nurse, stories, made)
    for path, value in given.items():
        if path == "person.allergies":
            box(nurse, path).get_by_label("none", exact=True).uncheck()
            box(nurse, path).get_by_label("latex", exact=True).check()
        else:
            box(nurse, path).get_by_label(value, exact=True).check()
    saved(nurse)
    says_do_not_bandage(nurse, stories, made, made["visit"], words)
    says_do_not_bandage(doctor, stories, made, made["visit"], words)
    nurse.goto(stories.address + f"/plans/{made['plan']}/sheet.pdf")
    expect(main).to_contain_text(words)
    for role in ("learner", "manager"):
        refuses(play(role), stories, name, f"/visits/{made['visit']}/check/")


def test_the_bandage_is_on_counts_once_until_it_is_undone(stories, play) -> None:
    made = stories.ask("leg", "Otto Twice", plan="approved")
    stories.ask("shelf", made, 20)
    before = stories.ask("rolls")
    first, second = play("bandager"), play("prescriber")
    for page in (first, second):
        check_page(page, stories, made["visit"])
    # 'Off by' is at most the plan's days.
    latest = date.fromisoformat(first.get_by_label("Off by").input_value())
    first.get_by_label("Off by").fill((latest + timedelta(days=395)).isoformat())
    first.get_by_role("button", name="The bandage is on").click()
    said = first.get_by_role("alert").first
    expect(said).to_contain_text("'Off by' must be after")
    assert stories.ask("bandagings", made["visit"]) == []
    first.get_by_label("Off by").fill(latest.isoformat())
    first.get_by_role("button", name="The bandage is on").click()
    expect(first.get_by_role("main")).to_contain_text("The bandage of this visit is on.")
    taken = before - stories.ask("rolls")
    second.get_by_role("button", name="The bandage is on").click()
    expect(second.get_by_role("alert").first).to_contain_text("is on already")
    assert stories.ask("bandagings", made["visit"]) == [False]
    rows = first.locator("table", has=first.get_by_text("Marks apart")).first
    rolls = sum(map(int, rows.locator("tbody td:nth-child(3)").all_inner_texts()))
    assert taken == rolls
    assert before - stories.ask("rolls") == rolls

    first.get_by_text("Pressed by mistake? Undo it").click()
    first.get_by_label("Why it is undone").fill("Pressed on the wrong leg.")
    first.get_by_role("button", name="It was not put on").click()
    expect(first.get_by_role("main")).to_contain_text("Its rolls are back on the shelf.")
    assert stories.ask("rolls") == before
    expect(first.get_by_role("button", name="The bandage is on")).to_be_visible()
    assert stories.ask("bandagings", made["visit"]) == [True]
    for role in ("learner", "manager"):
        page = play(role)
        refuses(page, stories, "Otto Twice", f"/visits/{made['visit']}/check/")
        assert post(page, f"/visits/{made['visit']}/bandaged/", plan=made["plan"])[0] == 403
