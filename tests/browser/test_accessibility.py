"""WCAG 2.2 AA as axe-core judges it: nothing serious on any page in any role, light and dark."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.long

EVERYWHERE = [
    "/own/", "/own/notices/", "/off/", "/second-factor/set-up/", "/second-factor/recovery/",
    "/welcome/#code", "/nothing-here/",
]  # fmt: skip
CLINICAL = [
    "/", "/?show=all", "/people/", "/people/new/", "/orders/", "/practice/",
    "/practice/ordinary-leg/", "/technique/", "/stock/", "PERSON", "LEG", "VISIT", "VISITplan/",
    "VISITcheck/", "PLAN", "PLANsheet/", "LEGpapers/home-nurse/", "WAITING",
]  # fmt: skip
PAGES = {
    "mercer": [*CLINICAL, "/policy/", *EVERYWHERE],
    "rowan": [*CLINICAL, *EVERYWHERE],
    "wicket": [
        "/practice/",
        "/practice/do-not-bandage/",
        "/practice/ordinary-leg/",
        "/technique/",
        *EVERYWHERE,
    ],
    "alder": ["/stock/", "/stock/1/", "/accounts/", "/accounts/1/", "/policy/", *EVERYWHERE],
}


def first_link(page, pattern):
    for link in page.locator("main a").all():
        href = link.get_attribute("href") or ""
        if re.fullmatch(pattern, href):
            return href
    raise AssertionError(f"no link like {pattern} on {page.url}")


def places(page, server):
    """Addresses of the records that a role looks at."""
    found = {}
    page.goto(server.address + "/?show=all")
    legs = [a.get_attribute("href") for a in page.locator("a.leg-line").all()]
    for leg in legs:
        page.goto(server.address + leg)
        links = [a.get_attribute("href") or "" for a in page.locator("main a").all()]
        plans = [link for link in links if re.fullmatch(r"/plans/\d+/", link)]
        visits = [link for link in links if re.fullmatch(r"/visits/\d+/", link)]
        if "A plan waits for approval" in page.content():
            found["WAITING"] = plans[0]
        elif plans and visits:
            found |= {"LEG": leg, "PLAN": plans[-1], "VISIT": visits[0]}
    page.goto(server.address + "/people/")
    found["PERSON"] = first_link(page, r"/people/\d+/")
    return found


@pytest.mark.parametrize("username", PAGES)
def test_nothing_serious_on_any_page(server, sign_in, username) -> None:
    page = sign_in(server, username, 1440)
    known = places(page, server) if username in ("mercer", "rowan") else {}
    serious = []
    for path in PAGES[username]:
        name = re.match(r"[A-Z]+", path)
        address = known[name.group()] + path[name.end() :] if name else path
        page.goto(server.address + address)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            for violation in Axe().run(page).response["violations"]:
                if violation["impact"] in ("serious", "critical"):
                    where = [node["target"] for node in violation["nodes"]][:3]
                    serious.append((path, scheme, violation["id"], where))
    assert serious == []


@pytest.mark.parametrize("width", [390, 820, 1440])
def test_no_page_scrolls_sideways(server, sign_in, width) -> None:
    page = sign_in(server, "mercer", width)
    known = places(page, server)
    wide = []
    for path in PAGES["mercer"]:
        name = re.match(r"[A-Z]+", path)
        address = known[name.group()] + path[name.end() :] if name else path
        page.goto(server.address + address)
        over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        if over > 0:
            wide.append((path, over))
    assert wide == []


def test_a_locked_screen(server, sign_in) -> None:
    page = sign_in(server, "rowan", 820)
    for path in ("/lock/", "/off/"):
        page.goto(server.address + path)
        found = Axe().run(page).response["violations"]
        assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == [], path


def test_the_sign_in_page(server, chromium) -> None:
    page = chromium.new_page()
    page.goto(server.address + "/sign-in/")
    serious = [
        v["id"]
        for v in Axe().run(page).response["violations"]
        if v["impact"] in ("serious", "critical")
    ]
    page.close()
    assert serious == []
