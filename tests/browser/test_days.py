"""Each role's day, in the system's Chromium."""

import re

import pytest
from playwright.sync_api import expect

from gaiter.operations.demo.people import EVERY_VISIT, ORDINARY, PASSWORD
from gaiter.web.frame.gate import HEADERS, SENTENCE

pytestmark = pytest.mark.long

CASE_PATHS = {**ORDINARY, **EVERY_VISIT, "person.sex": "female"}


def fill(page, path, value):
    """Fills one box as a person would: types, picks or ticks."""
    box = page.locator(f'.box[data-path="{path}"]')
    kind = box.get_attribute("data-kind")
    if box.get_attribute("hidden") is not None:
        return  # asked only after another answer
    if box.locator("fieldset.pills").count():
        words = {True: "yes", False: "no"}.get(value, value)
        box.get_by_label(words, exact=True).check()
    elif kind == "many":
        for one in value or ["none"]:
            box.get_by_label(one, exact=True).check()
    elif kind == "choice":
        box.get_by_role("combobox").select_option(value)
    else:
        box.get_by_role("textbox").fill(str(value))


def saved(page):
    expect(page.locator("#save-state")).to_have_text("Everything is saved.", timeout=15_000)


def leg_of(page, server, name):
    page.goto(f"{server.address}/?show=all")
    page.get_by_role("link", name=re.compile(name)).first.click()


def look_and_measure(nurse) -> str:
    """A new patient's first visit, every box filled; the visit's address."""
    nurse.get_by_role("link", name="New patient").click()
    nurse.get_by_label("Name").fill("Noor Invented")
    nurse.get_by_label("Born").fill("1950-04-04")
    nurse.get_by_label("Number in the clinic").fill("HF-2001")
    nurse.get_by_role("button", name="Add").click()
    nurse.get_by_role("button", name="Start with the right leg").click()
    for path, value in CASE_PATHS.items():
        fill(nurse, path, value)
    today = nurse.evaluate("new Date().toISOString().slice(0, 10)")
    nurse.locator('.box[data-path="leg.arterial.measured_on"] input').fill(today)
    saved(nurse)
    decision = nurse.locator("#decision")
    expect(decision).to_contain_text("Full: aim 20–30, never above 60 mmHg at the gaiter")
    expect(nurse.locator("#safety")).to_contain_text("1.02")
    expect(nurse.locator("#section-measure .drawing > svg")).to_be_visible()
    return nurse.url.split("#")[0]


def approve(doctor, visit) -> None:
    """A prescriber approves, the wrong password first."""
    doctor.goto(visit + "plan/")
    doctor.get_by_role("button", name="Go on to approve").click()
    doctor.get_by_label("Your password").fill("wrong")
    doctor.get_by_role("button", name="Approve this plan").click()
    expect(doctor.get_by_role("alert")).to_contain_text("not your password")
    doctor.get_by_label("Your password").fill(PASSWORD)
    doctor.get_by_role("button", name="Approve this plan").click()
    expect(doctor.get_by_role("main")).to_contain_text("Approved. The sheet is ready.")


def check_with_a_tight_edge(nurse) -> None:
    """The check of a bandage: something bad is not closed without an action."""
    form = nurse.locator("form.check")
    form.get_by_label("right after bandaging").check()
    for row in form.locator(".seen-row").all():
        row.get_by_role("radio").first.check()
    form.locator('input[name="fingers"][value="no"]').check()
    form.get_by_label("Pain, 0 to 10").fill("2")
    form.get_by_role("button", name="Sign the check").click()
    expect(nurse.locator("#alarm")).to_contain_text("Loosen it and look again")
    nurse.get_by_role("button", name="It is loosened").click()
    nurse.get_by_role("button", name="Good now").click()
    expect(nurse.locator("#alarm")).to_have_count(0)


def test_a_first_visit_from_empty_to_printed_sheet(server, sign_in) -> None:
    nurse = sign_in(server, "rowan")
    visit = look_and_measure(nurse)
    nurse.get_by_role("link", name="To the plan").click()
    nurse.get_by_role("button", name="Put it up for approval").click()
    nurse.get_by_label("Your password").fill(PASSWORD)
    nurse.get_by_role("button", name="Approve this plan").click()
    expect(nurse.get_by_role("main")).to_contain_text("standing order goes up to 40 mmHg")

    doctor = sign_in(server, "mercer", 1440)
    expect(doctor.get_by_role("main")).to_contain_text("Noor Invented")
    approve(doctor, visit)
    sheet = doctor.get_by_role("link", name="Sheet to print").get_attribute("href")
    printed = doctor.request.get(server.address + sheet)
    assert printed.body().startswith(b"%PDF")

    nurse.goto(visit + "check/")
    nurse.get_by_role("link", name="Steps on screen").click()
    expect(nurse.get_by_role("main")).to_contain_text(re.compile(r"marks \d+\.\d cm apart"))
    nurse.get_by_label("not so: pain at rest").check()
    nurse.get_by_role("link", name="To the check").click()
    nurse.get_by_role("button", name="The bandage is on").click()
    check_with_a_tight_edge(nurse)
    nurse.get_by_role("link", name="Back to the visit, to sign it").click()
    nurse.get_by_role("button", name="Sign the visit").click()
    expect(nurse.get_by_role("main")).to_contain_text("The visit is signed.")
    expect(nurse.get_by_role("main")).not_to_contain_text("warning sign")


def test_the_plan_answers_changes_undoes_and_suggests(server, sign_in) -> None:
    page = sign_in(server, "mercer", 1440)
    leg_of(page, server, "Greta Holm")
    page.get_by_role("button", name="Go on with the visit").click()
    page.get_by_role("link", name="To the plan").click()
    design, answer = page.locator("#design"), page.locator("#design .answer")
    as_computed = design.locator("table.pressures").first.inner_text()
    page.get_by_label("Bandage system").select_option("wool_gauze_long_stretch")
    expect(answer).to_contain_text("Three layers with long-stretch elastic bandage: fits")
    computed = design.locator("table.pressures").first.inner_text()
    page.locator('input[name="stretch.long_stretch_elastic"]').fill("46")
    expect(design).to_contain_text("Changed by hand: long stretch elastic: stretch 46%")
    assert design.locator("table.pressures").first.inner_text() != computed
    page.get_by_role("button", name="Undo").click()
    expect(design).not_to_contain_text("Changed by hand")
    assert design.locator("table.pressures").first.inner_text() == computed
    page.get_by_label("Beside it").select_option("four_layer")
    expect(design).to_contain_text("Beside it, as computed")
    page.get_by_role("button", name="Suggest").click()
    expect(design).not_to_contain_text("Beside it, as computed")
    assert design.locator("table.pressures").first.inner_text() == as_computed


def test_a_system_chosen_before_the_script_ran_is_answered(server, sign_in) -> None:
    page = sign_in(server, "mercer", 1440)
    held = []
    page.route("**/live*.js", lambda route, _request: held.append(route))
    leg_of(page, server, "Greta Holm")
    page.get_by_role("button", name="Go on with the visit").click()
    page.get_by_role("link", name="To the plan").click()
    page.get_by_label("Bandage system").select_option("wool_gauze_long_stretch")
    while not held:
        page.wait_for_timeout(20)
    held[0].continue_()
    expect(page.locator("#design .answer")).to_contain_text(
        "Three layers with long-stretch elastic bandage"
    )


def test_a_learner_sees_nobody_and_practises(server, sign_in) -> None:
    page = sign_in(server, "wicket")
    expect(page.get_by_role("navigation")).not_to_contain_text("People")
    expect(page.get_by_role("navigation")).not_to_contain_text("Today")
    response = page.goto(f"{server.address}/people/")
    assert response.status == 403
    page.goto(f"{server.address}/practice/")
    page.get_by_role("link", name=re.compile("Ordinary leg")).click()
    expect(page.locator("#design svg").first).to_be_visible()
    page.goto(f"{server.address}/practice/do-not-bandage/")
    expect(page.get_by_role("main")).to_contain_text("Stop and refer")


def test_a_managers_day(server, sign_in, chromium) -> None:
    page = sign_in(server, "alder", 1440)
    expect(page.get_by_role("main")).to_contain_text("Low:")
    page.get_by_role("link", name="Accounts").click()
    page.get_by_label("User name").fill("newcomer")
    page.get_by_label("Name", exact=True).fill("New Comer")
    page.get_by_label("Initials").fill("NC")
    page.get_by_label("Role").select_option("bandager")
    page.get_by_role("button", name="Make the account").click()
    link = page.locator("code.break").inner_text()
    other = chromium.new_context().new_page()
    other.goto(link)
    other.get_by_label("New password").fill("a password of enough length")
    other.get_by_role("button", name="Choose it").click()
    expect(other.get_by_role("heading", name=re.compile("Today"))).to_be_visible()
    other.context.close()
    response = page.goto(f"{server.address}/people/")
    assert response.status == 403


def test_two_tabs_on_one_visit_keep_both_values(server, sign_in) -> None:
    first, second = sign_in(server, "rowan"), sign_in(server, "sedge")
    for page in (first, second):
        leg_of(page, server, "Viggo Hart")
        page.get_by_role("button", name="Go on with the visit").click()
    box = '.box[data-path="leg.girth_cm.calf"]'
    first.locator(box).get_by_role("textbox").fill("36.1")
    saved(first)
    second.locator(box).get_by_role("textbox").fill("37.4")
    saved(second)
    rivals = second.locator(box).locator(".rivals")
    expect(rivals).to_contain_text("36.1 cm – Tam Rowan")
    expect(rivals).to_contain_text("37.4 cm – Pia Sedge")
    rivals.get_by_role("button", name=re.compile("37.4")).click()
    expect(second.locator(box).get_by_role("textbox")).to_have_value("37.4")
    expect(second.locator(box).locator(".rivals")).to_have_count(0)


def test_a_wild_value_is_questioned_and_a_wrong_one_answered_in_place(server, sign_in) -> None:
    page = sign_in(server, "rowan")
    leg_of(page, server, "Viggo Hart")
    page.get_by_role("button", name="Go on with the visit").click()
    box = page.locator('.box[data-path="leg.girth_cm.instep"]')
    box.get_by_role("textbox").fill("240")
    expect(box.get_by_role("alert")).to_contain_text("this looks like millimetres, give 24 cm")
    expect(page.locator("#save-state")).to_contain_text("needs another look")
    box.get_by_role("textbox").fill("24")
    expect(box.get_by_role("alert")).to_be_hidden()
    ankle = page.locator('.box[data-path="leg.girth_cm.gaiter"]')
    ankle.get_by_role("textbox").fill("33")
    expect(page.locator("#section-measure")).to_contain_text(
        "last time 27.5 cm. Measure once more."
    )
    ankle.get_by_role("textbox").fill("")
    saved(page)


def test_a_dropped_connection_and_a_closed_tab_lose_nothing(server, sign_in) -> None:
    page = sign_in(server, "sedge")
    leg_of(page, server, "Viggo Hart")
    page.get_by_role("button", name="Go on with the visit").click()
    page.wait_for_load_state()
    address = page.url
    page.context.set_offline(True)
    page.locator('.box[data-path="look.hours_worn"]').get_by_role("textbox").fill("151")
    expect(page.locator("#save-state")).to_contain_text("Not saved yet: no connection")
    tablet = page.context
    page.close()
    again = tablet.new_page()
    tablet.set_offline(False)
    again.goto(address)
    saved(again)
    again.reload()
    field = again.locator('.box[data-path="look.hours_worn"]').get_by_role("textbox")
    expect(field).to_have_value("151")


def test_what_was_refused_as_a_flood_is_sent_and_asked_again(server, sign_in) -> None:
    """The gate's own words, twice for the save and twice for the decision that follows it."""
    page = sign_in(server, "rowan")
    leg_of(page, server, "Viggo Hart")
    page.get_by_role("button", name="Go on with the visit").click()
    refused = {"save": 0, "live": 0}

    def answer(kind):
        def first_refuse(route, _request):
            refused[kind] += 1
            if refused[kind] > 2:
                route.continue_()
            else:
                said = {name: words for name, words in HEADERS if name != "Content-Length"}
                route.fulfill(status=429, headers=said, body=SENTENCE)

        return first_refuse

    for kind in refused:
        page.route(f"**/{kind}/", answer(kind))
    decision = page.locator("#decision")
    expect(decision).not_to_contain_text("Stop and refer")
    fill(page, "leg.findings.gangrene", True)
    expect(decision).to_contain_text("Stop and refer: no compression")
    assert min(refused.values()) > 2
    page.reload()
    box = page.locator('.box[data-path="leg.findings.gangrene"]')
    expect(box.get_by_label("yes", exact=True)).to_be_checked()


def test_an_idle_lock_keeps_the_work(server, sign_in) -> None:
    page = sign_in(server, "rowan")
    page.clock.install()
    leg_of(page, server, "Viggo Hart")
    page.get_by_role("button", name="Go on with the visit").click()
    page.locator('.box[data-path="care.note"]').get_by_role("textbox").fill("half a sent")
    page.clock.run_for(2000)
    page.clock.run_for(11 * 60 * 1000)
    page.wait_for_url(re.compile("/lock/"))
    visit = page.url.split("next=")[1]
    page.goto(f"{server.address}/people/")
    expect(page.get_by_role("heading", name="Locked")).to_be_visible()
    page.goto(f"{server.address}/lock/?next={visit}")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Unlock").click()
    field = page.locator('.box[data-path="care.note"]').get_by_role("textbox")
    expect(field).to_have_value("half a sent")


def test_a_server_killed_while_saving_writes_nothing_by_half(fragile_server, sign_in) -> None:
    server = fragile_server
    page = sign_in(server, "rowan")
    leg_of(page, server, "Viggo Hart")
    page.get_by_role("button", name="Go on with the visit").click()
    note = page.locator('.box[data-path="care.note"]').get_by_role("textbox")
    note.fill("before")
    saved(page)
    for number in range(6):
        note.fill(f"while it dies {number}")
        page.wait_for_timeout(520 if number == 5 else 120)
    server.kill()
    note.fill("after it died")
    expect(page.locator("#save-state")).to_contain_text("Not saved yet", timeout=10_000)
    assert "The audit log holds" in server.run("audit", "verify")
    server.start()
    saved(page)
    page.reload()
    note = page.locator('.box[data-path="care.note"]').get_by_role("textbox")
    expect(note).to_have_value("after it died")
    assert "The audit log holds" in server.run("audit", "verify")
