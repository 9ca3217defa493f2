"""The demo clinic is made through the actions, in an empty database only, on days gone by."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.operations.demo import make
from gaiter.operations.demo.make import make_demo
from gaiter.operations.demo.people import ACCOUNTS, PASSWORD, Spec
from gaiter.records.ledger import Actor, broken_at
from gaiter.records.models import (
    Account,
    AuditEntry,
    Entry,
    Episode,
    Person,
    PlanRecord,
    StandingOrder,
    StockItem,
    StopAction,
    Visit,
)
from gaiter.records.read.visible import unseen_people, visible_people
from tests.records.models.rows import made

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
HALF = Spec("Femi Archer", "1957-09-09", "right", 0, sex="male", story=("half filled",))
TWO = Spec("Femi Archer", "1957-09-09", "left", 0, sex="male", story=("two differ", "call"))
STOPPED = Spec(
    "Nora Wick", "1935-01-19", "right", 1, 7, 3, 7, tested_days_ago=30,
    last={"leg.findings.gangrene": True, "leg.findings.worse": None},
)  # fmt: skip


@pytest.fixture
def demo():
    def run(*specs: Spec) -> list[str]:
        said: list[str] = []
        make_demo(said.append, specs)
        return said

    return run


def test_where_teams_count_everybody_clinical_sees_everybody(demo, settings) -> None:
    settings.GAITER = replace(settings.GAITER, teams=True)
    demo(HALF)
    assert unseen_people().count() == 0
    for account in Account.objects.filter(role__in=("prescriber", "bandager")):
        assert visible_people(Actor(account)).count() == 1


def test_accounts_and_shelf_are_there_and_the_audit_holds(demo) -> None:
    assert demo() == []
    assert {account.username for account in Account.objects.all()} == {one[0] for one in ACCOUNTS}
    assert all(account.demo for account in Account.objects.all())
    assert all(account.check_password(PASSWORD) for account in Account.objects.all())
    sizes = {
        (key, width)
        for key, material in shipped_catalogue().materials.items()
        for width in material.widths_cm
    }
    assert {(item.material, item.width_cm) for item in StockItem.objects.all()} == sizes
    # Counted down, so that something is low and something is plenty.
    assert {item.rolls for item in StockItem.objects.filter(material="light_elastic")} == {3}
    assert {item.rolls for item in StockItem.objects.filter(material="short_stretch")} == {30}
    order = StandingOrder.objects.get()
    assert (order.maximum_mmhg, order.starts, order.ends) == (40, TODAY, TODAY + timedelta(days=14))
    assert broken_at() is None


@pytest.mark.parametrize("model", [Account, Person])
def test_a_demo_is_never_mixed_with_a_clinic(demo, model) -> None:
    made(model)
    before = AuditEntry.objects.count()
    with pytest.raises(InputError, match="already holds accounts or people"):
        demo(HALF)
    assert AuditEntry.objects.count() == before


def test_one_person_has_two_legs_and_everybody_is_invented(demo) -> None:
    twin = Spec("Edda Quill", "1948-05-05", "right", 0)
    other = Spec("Edda Quill", "1948-05-05", "left", 0)
    assert demo(twin, other) == [
        "1 of 2: Edda Quill, right leg", "2 of 2: Edda Quill, left leg",
    ]  # fmt: skip
    person = Person.objects.get()
    assert (person.name, person.birth_date, person.number) == (
        "Edda Quill",
        "1948-05-05",
        "HF-1005",
    )
    assert person.invented
    assert {episode.side for episode in person.episodes.all()} == {"right", "left"}


def test_the_stories_of_today_stand_open(demo) -> None:
    demo(HALF, TWO)
    half, two = Episode.objects.order_by("pk")
    visit = half.visits.get()
    assert (visit.day, visit.signed_at) == (TODAY, None)
    assert visit.entries.get(path="leg.girth_cm.ankle").value == 24.2
    ankle = two.visits.get().entries.filter(path="leg.girth_cm.ankle")
    assert {(entry.value, entry.state) for entry in ankle} == {
        (23.1, Entry.State.CURRENT), (23.9, Entry.State.RIVAL),
    }  # fmt: skip
    assert {entry.author.username for entry in ankle} == {"rowan", "sedge"}
    assert "shower" in two.calls.get(done_at=None).why


def test_a_stopped_leg_has_a_referral_a_note_and_no_plan(demo) -> None:
    demo(STOPPED)
    visit = Visit.objects.get()
    assert visit.day == visit.signed_at.date() == TODAY - timedelta(days=3)
    assert visit.next_visit == TODAY + timedelta(days=4)
    assert not PlanRecord.objects.exists()
    assert {one.code for one in StopAction.objects.all()} == {"gangrene"}
    assert "Referred the same day." in visit.episode.notes.get().words
    tested = Entry.objects.get(path="leg.arterial.measured_on")
    assert tested.value == (visit.day - timedelta(days=30)).isoformat()
    assert AuditEntry.objects.filter(verb="sign visit", at__date=visit.day).exists()


def test_what_is_entered_goes_from_the_first_visit_to_the_last() -> None:
    """Three visits: 23.5 cm shrinks to 22.5, the calf with it; the wound halves its sides."""
    spec = Spec("Ada Fenwick", "1951-03-14", "right", 3, 7, 7, ankle_to_cm=22.5, heals=0.5,
                last={"toes.colour": "paler"})  # fmt: skip
    maker = make._Maker({}, spec, 1)
    visits = [maker._values(index, TODAY) for index in range(3)]
    ankles = [values["leg.girth_cm.ankle"] for values in visits]
    calves = [values["leg.girth_cm.calf"] for values in visits]
    assert (ankles, calves) == ([23.5, 23.0, 22.5], [37.0, 36.5, 36.0])
    assert [values["leg.wound.length_cm"] for values in visits] == [4.0, 2.0, 1.0]
    assert [values["leg.wound.width_cm"] for values in visits] == [3.0, 1.5, 0.8]
    assert [values["toes.colour"] for values in visits] == ["same", "same", "paler"]
    # The arteries are tested once, and heights measured every four weeks.
    assert ["arms.left_mmhg" in values for values in visits] == [True, False, False]
    assert ["leg.position_cm.calf" in values for values in visits] == [True, False, False]
    assert visits[0]["leg.arterial.measured_on"] == (TODAY - timedelta(days=47)).isoformat()
