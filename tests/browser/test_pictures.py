"""Every page and every page of the sheet looks as it did: compared with the pictures kept.

Where a change is meant, ``GAITER_RENEW_PICTURES=1 pytest tests/browser/test_pictures.py`` draws
``tests/pictures`` anew; look at them before they are committed.
"""

import io
import os
import re
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.test import Client as Visitor
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pixelmatch.contrib.PIL import pixelmatch

from gaiter.core.applied import judge
from gaiter.core.plan import planner
from gaiter.records.actions import people as people_actions
from gaiter.records.actions.checks import GOOD_ANSWERS
from gaiter.records.actions.plans import leave_order, record_bandaging, set_stock_item
from gaiter.records.models import Role
from gaiter.records.read.documents import plan_of
from gaiter.sheets import sheet_pdf
from gaiter.web.frame import context
from gaiter.web.frame import views as frame_views
from tests.clinic import attempt_of, small_clinic, whole_visit

pytestmark = pytest.mark.long

# A browser that another test has opened keeps a loop in this thread; nothing here waits in it.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

KEPT = Path(__file__).parents[1] / "pictures"
RENEW = os.environ.get("GAITER_RENEW_PICTURES") == "1"
NOW = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
WIDTHS = (1280, 820)
# Half the size is small to keep and shows every box, line and row of words.
SCALE = 0.5
COLOURS = 32
# Of all points; another version of the browser draws the edges of letters a little differently.
ALLOWED = 0.004
NOT_GOOD = {**GOOD_ANSWERS, "colour": "paler", "warmth": "cold", "pain": "8", "moment": "after"}


@pytest.fixture
def still(monkeypatch):
    """A clock that stands, and references and a version that are always the same."""
    for place in (planner, judge, context, frame_views):
        monkeypatch.setattr(place, "__version__", "0.1.0")
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    monkeypatch.setattr(people_actions, "_reference", lambda: "K7MRT")


@pytest.fixture
def pages(still, db) -> dict[str, str]:
    """The text of every page, of one clinic with one leg bandaged."""
    clinic = small_clinic()
    tested = (NOW - timedelta(days=20)).date().isoformat()
    clinic.fill({**whole_visit(), "leg.arterial.measured_on": tested})
    doctor, today = clinic.actor(Role.PRESCRIBER), NOW.date()
    proposed = clinic.proposed()
    visit, leg = [clinic.visit.pk], [clinic.episode.pk]
    read = Reader(clinic)
    found = {
        "sign-in": read(None, reverse("sign-in")),
        "proposal": read("prescriber", reverse("plan", args=[proposed.pk])),
    }
    read("prescriber", reverse("withdraw-plan", args=[proposed.pk]), words="Made for a picture.")
    plan = clinic.approved()
    leave_order(
        doctor, person=None, maximum_mmhg=40, words="While I am away.", starts=today, ends=today
    )
    attempt = attempt_of(clinic.actor(Role.PRESCRIBER), off_cm=0.4)
    bandaging = record_bandaging(clinic.actor(), clinic.visit, plan, today + timedelta(days=2))
    addresses = {
        "today": reverse("today") + "?show=all",
        "people": reverse("people"),
        "person": reverse("person", args=[clinic.person.pk]),
        "new-person": reverse("new-person"),
        "leg": reverse("leg", args=leg),
        "visit": reverse("visit", args=visit),
        "design": reverse("design", args=visit),
        "check": reverse("check", args=visit),
        "plan": reverse("plan", args=[plan.pk]),
        "steps": reverse("steps", args=[plan.pk]),
        "paper": reverse("paper", args=[*leg, "vascular"]),
        "orders": reverse("orders"),
        "policy": reverse("policy"),
        "technique": reverse("technique"),
        "practice": reverse("practice"),
        "practice-leg": reverse("practice-leg", args=["ordinary-leg"]),
        "attempt": reverse("attempt", args=[attempt.pk]),
        "off": reverse("off"),
        "own": reverse("own"),
        "problem": "/nothing/",
    }
    found |= {name: read("prescriber", address) for name, address in addresses.items()}
    found["short"] = read("bandager", reverse("design", args=visit))
    # From now on a plan has to do with what is on the shelf.
    set_stock_item(doctor, None, material="zinc_paste", width_cm=8, rolls=2, low_at=5)
    for name in ("stock", "accounts"):
        found[name] = read("manager", reverse(name))
    answer = reverse("answer-check", args=[bandaging.pk])
    read("bandager", answer, **NOT_GOOD)
    found["alarm"] = read("bandager", reverse("check", args=visit))
    found["sheet"] = sheet_pdf(plan_of(plan), "Approved by Invented prescriber on 2 March 2026")
    return found


class Reader:
    """Reads pages as somebody of a role."""

    def __init__(self, clinic) -> None:
        self._clinic = clinic

    def __call__(self, role: str | None, address: str, **sent: str) -> str:
        visitor = Visitor()
        if role:
            backend = "django.contrib.auth.backends.ModelBackend"
            visitor.force_login(self._clinic.accounts[role], backend=backend)
        answer = visitor.post(address, sent) if sent else visitor.get(address)
        return answer.content.decode()


def pictures_of_pages(chromium, pages: dict[str, str]):
    """A picture of each page in each width, as it stands before any script runs."""
    for width in WIDTHS:
        context = chromium.new_context(
            viewport={"width": width, "height": 900}, device_scale_factor=SCALE,
            reduced_motion="reduce", java_script_enabled=False,
        )  # fmt: skip
        page = context.new_page()

        def answer(route) -> None:
            name = re.sub(r"^http://clinic\.test/(static/\w+/)?", "", route.request.url)
            if name in pages:
                route.fulfill(body=pages[name], content_type="text/html; charset=utf-8")
            else:
                route.fulfill(path=finders.find(name))

        page.route("**/*", answer)
        for name, text in pages.items():
            if isinstance(text, str):
                page.goto(f"http://clinic.test/{name}")
                png = page.screenshot(full_page=True)
                yield f"{name}-{width}", Image.open(io.BytesIO(png)).convert("RGB")
        context.close()


def pictures_of_sheet(pdf: bytes, folder: Path):
    """A picture of each page of the sheet."""
    path = folder / "sheet.pdf"
    path.write_bytes(pdf)
    subprocess.run(["pdftoppm", "-r", "50", "-png", str(path), str(folder / "page")], check=True)
    for number, made in enumerate(sorted(folder.glob("page-*.png")), 1):
        yield f"sheet-{number}", Image.open(made).convert("RGB")


def small(picture: Image.Image) -> Image.Image:
    """With few colours, as it is kept."""
    return picture.quantize(COLOURS, dither=Image.Dither.NONE)


def difference(kept: Path, now: Image.Image, folder: Path) -> str:
    """What differs, in words; empty where nothing does that counts."""
    if not kept.is_file():
        return "no picture is kept"
    then = Image.open(kept).convert("RGB")
    if then.size != now.size:
        now.save(folder / kept.name)
        return f"{now.size} points where {then.size} are kept; see {folder / kept.name}"
    marked = Image.new("RGBA", now.size)
    few = small(now).convert("RGBA")
    share = pixelmatch(then.convert("RGBA"), few, marked, threshold=0.2) / (now.width * now.height)
    if share <= ALLOWED:
        return ""
    marked.save(folder / kept.name)
    return f"{share:.2%} of all points differ; see {folder / kept.name}"


@pytest.mark.skipif(
    "GAITER_DATABASE" in os.environ, reason="a page looks the same whatever database is behind it"
)
def test_every_page_looks_as_it_did(pages, chromium, tmp_path) -> None:
    wrong, names = {}, set()
    drawn = [*pictures_of_pages(chromium, pages), *pictures_of_sheet(pages["sheet"], tmp_path)]
    for name, picture in drawn:
        kept = KEPT / f"{name}.png"
        names.add(kept.name)
        if RENEW:
            KEPT.mkdir(exist_ok=True)
            small(picture).save(kept, optimize=True)
        elif words := difference(kept, picture, tmp_path):
            wrong[name] = words
    assert wrong == {}
    assert {path.name for path in KEPT.glob("*.png")} == names, "a picture is of no page any more"


def test_a_moved_line_is_seen(tmp_path) -> None:
    """The tolerance lets nothing through that somebody would notice."""
    picture = Image.new("RGB", (640, 450), "#FBF8F3")
    kept = tmp_path / "kept.png"
    small(picture).save(kept)
    assert difference(kept, picture, tmp_path) == ""
    picture.paste("#22252B", (20, 100, 620, 103))
    assert "differ" in difference(kept, picture, tmp_path)
    assert "are kept" in difference(kept, picture.resize((640, 460)), tmp_path)
