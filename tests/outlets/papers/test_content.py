"""What papers say, from sources written by hand; the pages ask the same of the record."""

from datetime import date

import pytest

from gaiter.core.check import words
from gaiter.core.safety import Outcome, Reason, RuleKind
from gaiter.outlets.papers.content import PAPERS
from gaiter.outlets.papers.source import LINE
from gaiter.records.models import Episode, Person, StopAction, Visit
from gaiter.records.read.alarm import Alarm, State
from gaiter.records.visit.case import Assembled
from tests.outlets.papers.test_source import TODAY, alarm, known, source
from tests.sheets import small_plan

STOP = Reason(
    code="gangrene", kind=RuleKind.HARD_STOP, text="Dead tissue.", source="-", strength="-"
)
STOPPED = small_plan.decision(
    outcome=Outcome.STOP, maximum_mmhg=None, headline="Stop and refer: no compression",
    limiting=("gangrene",), reasons=(STOP,),
)  # fmt: skip
LETTERS = ("vascular", "heart-failure", "dermatology")


def somebody(**values) -> Assembled:
    """The same as `known`, of a person with a name."""
    seen = known(**values)
    person = Person(name="Ada Fenwick", birth_date="1951-03-14", number="HF-1")
    visit = Visit(episode=Episode(person=person, side="left", reference="AC-1"), day=TODAY)
    return Assembled(visit, seen.known, {})


def text(kind, **changes) -> str:
    return PAPERS[kind][1](source(**{"seen": somebody(), **changes})).as_text()


def test_the_order_tells_layers_marks_rolls_and_the_lower_maximum() -> None:
    said = text("home-nurse")
    assert "1. Wool, spiral, overlap 50%, 12 turns\n" in said
    assert (
        "2. Elastic, herringbone, overlap 75%, 17 turns, 10 cm marks 15.0 cm apart on the leg"
        in said
    )
    assert "- Wool: 2 rolls" in said
    assert "- protect outer ankle" in said
    # The plan's maximum is 40, today's decision leaves 60.
    assert "Never more than 40 mmHg at the gaiter." in said
    low = small_plan.decision(maximum_mmhg=25.0)
    assert "Never more than 25 mmHg at the gaiter." in text("home-nurse", decision=low)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"decision": STOPPED}, "Hard stop: Dead tissue."),
        ({"plan": None}, "No plan is in force for this leg."),
        ({"why_not": "Girth has changed."}, "Girth has changed."),
        ({"decision": None}, "No decision: what is known of this leg is not enough"),
        ({"alarm": alarm(State.LOOK)}, ""),
    ],
)
def test_an_order_that_is_none_says_so_first_and_gives_no_instruction(changes, why) -> None:
    blocks = text("home-nurse", **changes).split("\n\n")
    assert blocks[1].startswith("DO NOT BANDAGE")
    assert why in blocks[1]
    whole = "\n".join(blocks)
    assert "10 cm marks" not in whole
    assert "Never more than" not in whole
    assert "2 rolls" not in whole


def test_an_order_names_latex_and_when_to_take_it_off() -> None:
    said = text("home-nurse", seen=somebody(person__allergies=["latex"]))
    assert "LATEX ALLERGY" in said
    assert "LATEX" not in text("home-nurse")
    for line in (*words.DO_NOT_BANDAGE_IF, *words.STAFF_TAKES_IT_OFF_IF):
        assert line in said
    assert "[ ] Bandage slipped" in said


@pytest.mark.parametrize("kind", [*LETTERS, "home-nurse", "chart-note"])
def test_an_alarm_stands_on_every_letter(kind) -> None:
    one = Alarm(
        State.EMERGENCY, 1, alarm(State.LOOK).since, ("toes cold",), headline="EMERGENCY NOW",
        handed_to="Registrar",
    )  # fmt: skip
    said = text(kind, alarm=one)
    assert "EMERGENCY NOW" in said
    assert "- toes cold" in said
    assert "Handed over to: Registrar" in said
    assert "EMERGENCY NOW" not in text(kind)


@pytest.mark.parametrize("kind", LETTERS)
def test_a_letter_says_who_what_the_rules_say_and_what_lies_on_the_leg(kind) -> None:
    said = text(kind)
    assert "Ada Fenwick, born 1951-03-14, number HF-1" in said
    assert "Left leg, reference AC-1" in said
    assert "ABI (ABPI) 1.02" in said
    assert "Cap: Never above 40." in said
    assert "Two layers" in said
    stopped = text(kind, decision=STOPPED)
    assert "None: not to be bandaged now." in stopped
    assert "Two layers" not in stopped


def test_a_stop_says_to_whom_the_person_was_referred() -> None:
    referred = StopAction(code="gangrene", referred_to="Vascular team", on=date(2026, 11, 24))
    older = StopAction(code="skin_cancer", referred_to="Dermatology", on=date(2026, 11, 20))
    said = text("vascular", decision=STOPPED, actions=(referred, older))
    assert "Hard stop: Dead tissue. Referred to Vascular team on 2026-11-24." in said
    assert "Stop not cleared yet: skin cancer, referred to Dermatology on 2026-11-20." in said
    assert "Referred to" not in text("vascular", decision=STOPPED)


def test_a_letter_tells_what_its_reader_needs() -> None:
    seen = somebody(
        leg__arterial__toe_mmhg=62, person__breathless_lying=True, care__dressing="Plain dressing."
    )
    found = {kind: text(kind, seen=seen).split("What the rules say")[0] for kind in LETTERS}
    assert ["62 mmHg" in found[kind] for kind in LETTERS] == [True, False, False]
    assert ["reathless" in found[kind] for kind in LETTERS] == [False, True, False]
    assert ["Plain dressing." in found[kind] for kind in LETTERS] == [False, False, True]


@pytest.mark.parametrize(("phone", "printed"), [("555 0100", "555 0100"), ("", LINE)])
def test_an_unknown_telephone_is_a_line_to_write_on(phone, printed) -> None:
    assert f"The clinic: {printed}" in text("leaflet", phone=phone)
    assert f"Telephone: {printed}" in text("home-nurse", phone=phone)


def test_a_leaflet_follows_whether_the_leg_may_be_bandaged() -> None:
    said, not_now = text("leaflet"), text("leaflet", decision=STOPPED)
    assert said.startswith("YOUR COMPRESSION BANDAGE")
    assert not_now.startswith("YOUR LEG")
    assert "Should anything be on the leg:" in not_now
    assert "Should anything" not in said
    for line in (*words.TAKE_IT_OFF_IF, *words.EMERGENCY_IF, *words.CALL_IF, *words.CUT_IT_OFF):
        assert line in said
        assert line in not_now
    assert words.ANYONE_MAY in said
    assert "Ada" not in said


def test_a_chart_note_has_the_day_the_decision_and_the_plan() -> None:
    taken = {"leg__width_cm__ankle": 6.1, "leg__depth_cm__ankle": 8.7}
    said = text("chart-note", seen=somebody(leg__girth_cm__ankle=23.5, **taken))
    assert said.startswith("CHART NOTE, 25 NOVEMBER 2026")
    assert all(value in said for value in ("23.5 cm", "6.1 cm", "8.7 cm"))
    assert "Two layers" in said
    assert "Not to be bandaged now." not in said
    assert "Not to be bandaged now." in text("chart-note", decision=STOPPED)
    assert "No plan is in force" in text("chart-note", plan=None)


def test_consent_may_be_given_for_each_use_alone() -> None:
    assert text("photo-consent").count("[ ]") == 3
