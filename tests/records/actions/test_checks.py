"""The check of a bandage: kept with its verdict, and answered until it is resolved."""

from datetime import timedelta

import pytest
from django.utils import timezone

from gaiter.core.errors import InputError
from gaiter.records.actions.checks import GOOD_ANSWERS, baseline_of, record_check, record_deed
from gaiter.records.actions.people import record_bandage_event
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.visits import sign_visit
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import AppliedRecord, Check, Deed, Role, Visit
from gaiter.records.read.alarm import State, open_alarm, take_off_now, unresolved

BAD = {**GOOD_ANSWERS, "colour": "paler", "warmth": "cold", "pain": "8"}
TIGHT = {**GOOD_ANSWERS, "fingers": "no"}


def on(clinic, plan=None):
    """The bandage of the visit, put on by the plan in force."""
    day = clinic.visit.day + timedelta(days=1)
    return record_bandaging(clinic.actor(), clinic.visit, plan or clinic.approved(), day)


@pytest.fixture
def bandaging(clinic):
    return on(clinic)


@pytest.fixture
def checked(clinic, bandaging):
    """Records a check of the boxes given."""

    def made(answers, moment="after", **extra):
        return record_check(clinic.actor(), bandaging, moment, answers, **extra)

    return made


@pytest.fixture
def did(clinic, bandaging):
    """Records what was done."""

    def made(kind, words="", role=Role.BANDAGER):
        return record_deed(clinic.actor(role), bandaging, kind, words)

    return made


def state(clinic) -> State | None:
    alarm = open_alarm(clinic.episode)
    return alarm.state if alarm else None


def signed(clinic) -> Visit:
    return sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=1))


def test_a_good_check_raises_nothing_and_the_visit_is_signed(clinic, checked) -> None:
    assert checked(GOOD_ANSWERS).verdict == "good"
    assert state(clinic) is None
    assert unresolved(clinic.visit) == ""
    signed(clinic)


def test_a_visit_is_not_signed_before_its_bandage_was_checked(clinic, bandaging) -> None:
    with pytest.raises(InputError, match="was not checked"):
        signed(clinic)


def test_a_bad_check_is_kept_at_once_and_says_take_it_off_now(clinic, checked) -> None:
    made = checked(BAD)
    assert made.bad == ["colour", "warmth", "pain"]
    alarm = take_off_now(clinic.episode)
    assert alarm.headline == "TAKE IT OFF NOW"
    assert any("cold (before the bandage warm)" in text for text in map(str, alarm.failed))
    assert "10 minutes later" in alarm.next[1].text


def test_the_visit_is_signed_only_when_it_is_off_and_the_toes_came_back(
    clinic, checked, did
) -> None:
    checked(BAD)
    with pytest.raises(InputError, match="TAKE IT OFF NOW"):
        signed(clinic)
    did("called")
    with pytest.raises(InputError, match="TAKE IT OFF NOW"):
        signed(clinic)
    did("taken_off")
    with pytest.raises(InputError, match="look at the toes after 10 minutes"):
        signed(clinic)
    did("recovered")
    signed(clinic)
    assert take_off_now(clinic.episode) is None


@pytest.mark.parametrize("kind", ["loosened", "called"])
def test_loosened_or_called_alone_never_answers_take_it_off_now(clinic, checked, did, kind) -> None:
    checked(BAD)
    if kind == "loosened":
        with pytest.raises(InputError, match="loosening is no answer"):
            did(kind)
        record_bandage_event(clinic.actor(), clinic.episode, "loosened", "")
    else:
        did(kind)
    assert state(clinic) is State.OFF_NOW


def test_loosening_is_refused_with_the_boxes_too(checked) -> None:
    with pytest.raises(InputError, match="loosening is no answer"):
        checked(BAD, deed="loosened")
    assert not Check.objects.exists()


def test_the_look_cannot_be_said_before_the_bandage_is_off(clinic, checked, did) -> None:
    checked(BAD)
    with pytest.raises(InputError, match="take it off first"):
        did("recovered")
    assert state(clinic) is State.OFF_NOW


def test_a_later_good_check_does_not_silence_it(clinic, checked) -> None:
    checked(BAD)
    checked(GOOD_ANSWERS, "walked")
    assert state(clinic) is State.OFF_NOW


def test_toes_that_do_not_come_back_are_an_emergency_until_handed_over_and_cleared(
    clinic, checked, did
) -> None:
    checked(BAD)
    did("taken_off")
    did("not_recovered")
    alarm = take_off_now(clinic.episode)
    assert alarm.headline == "SAME-DAY VASCULAR EMERGENCY"
    with pytest.raises(InputError, match="to whom the person was handed over"):
        signed(clinic)
    with pytest.raises(InputError, match="said already"):
        did("recovered")
    with pytest.raises(InputError, match="To whom, and when must be 3"):
        did("handed_over")
    did("handed_over", "Vascular registrar on call, 10:40")
    signed(clinic)
    alarm = take_off_now(clinic.episode)
    assert alarm.state is State.HANDED_OVER
    assert alarm.handed_to == "Vascular registrar on call, 10:40"
    with pytest.raises(NotAllowedError, match="Only a prescriber"):
        did("cleared", "Seen, pulses good.")
    did("cleared", "Vascular team saw the leg: open arteries.", Role.PRESCRIBER)
    assert state(clinic) is None


def test_a_tight_edge_is_loosened_and_looked_at_again(clinic, checked, did) -> None:
    checked(TIGHT)
    assert state(clinic) is State.LOOSEN
    assert take_off_now(clinic.episode) is None
    with pytest.raises(InputError, match="loosen the bandage and say so"):
        signed(clinic)
    did("loosened")
    with pytest.raises(InputError, match="look again after 10 minutes"):
        signed(clinic)
    did("recovered")
    signed(clinic)


@pytest.mark.parametrize("again", ["deed", "check"])
def test_loosened_and_still_not_good_comes_off(clinic, checked, did, again) -> None:
    checked(TIGHT)
    did("loosened")
    if again == "deed":
        did("not_recovered")
    else:
        checked(TIGHT, "later")
    assert state(clinic) is State.OFF_NOW


def test_loosened_and_a_good_check_is_resolved(clinic, checked, did) -> None:
    checked(TIGHT)
    did("loosened")
    checked(GOOD_ANSWERS, "later")
    assert state(clinic) is None


@pytest.mark.parametrize("role", list(Role))
def test_anyone_may_record_it_off_and_the_look_is_then_asked_for(clinic, checked, role) -> None:
    checked(BAD)
    record_bandage_event(clinic.actor(role), clinic.episode, "taken_off", "")
    assert state(clinic) is State.LOOK


def test_taking_off_without_an_alarm_raises_none(clinic, bandaging) -> None:
    record_bandage_event(clinic.actor(), clinic.episode, "taken_off", "")
    assert state(clinic) is None


def test_taken_off_at_home_and_toes_that_stay_white_are_an_emergency(
    clinic, bandaging, did
) -> None:
    with pytest.raises(InputError, match="Nothing stands open"):
        did("not_recovered")
    record_bandage_event(clinic.actor(), clinic.episode, "taken_off", "")
    did("not_recovered")
    assert state(clinic) is State.EMERGENCY


def test_no_bandage_goes_on_while_it_stands(clinic, bandaging, checked, did) -> None:
    checked(BAD)
    did("taken_off")
    day = clinic.visit.day + timedelta(days=1)
    with pytest.raises(InputError, match="no bandage before that is resolved"):
        record_bandaging(clinic.actor(), clinic.visit, bandaging.plan, day)


def _applied(bandaging, advice: str, at) -> AppliedRecord:
    return AppliedRecord(
        pk=int(at.timestamp()), bandaging_id=bandaging.pk, advice=advice, at=at, document="{}",
        system="", hands=[],
    )  # fmt: skip


def test_readings_that_say_take_off_raise_the_same_alarm(clinic, bandaging, policy) -> None:
    from gaiter.records.read.alarm import AlarmFacts, alarm_of

    now = timezone.now()
    high = _applied(bandaging, "take off now", now)
    alarm = alarm_of(AlarmFacts(applied=[high]), policy)
    assert alarm.headline == "TAKE IT OFF NOW"
    assert alarm.by_readings
    good = _applied(bandaging, "good", now + timedelta(minutes=2))
    assert alarm_of(AlarmFacts(applied=[high, good]), policy) is None
    off = Deed(
        pk=1, bandaging_id=bandaging.pk, kind="taken_off", words="", at=now + timedelta(minutes=1)
    )
    alarm = alarm_of(AlarmFacts(applied=[high, good], deeds=[off]), policy)
    assert alarm.state is State.LOOK


def test_the_toes_before_the_bandage_are_those_typed_before_it(clinic) -> None:
    clinic.fill({"toes.feeling": "some toes", "look.pain": 2})
    plan = clinic.approved()
    made = on(clinic, plan)
    clinic.fill({"toes.warmth": "cold", "look.pain": 9})
    before = baseline_of(made)
    assert (before["feeling"], before["pain"]) == ("some toes", 2)
    assert before["warmth"] != "cold"


def test_no_worse_than_before_the_bandage_is_good(clinic) -> None:
    clinic.fill({"toes.feeling": "some toes"})
    made = on(clinic)
    answers = {**GOOD_ANSWERS, "feeling": "some toes"}
    assert record_check(clinic.actor(), made, "after", answers).verdict == "good"


def test_a_bad_check_at_a_later_look_after_signing_raises_the_alarm(clinic, checked) -> None:
    checked(GOOD_ANSWERS)
    signed(clinic)
    checked({**GOOD_ANSWERS, "colour": "white"}, "later")
    assert state(clinic) is State.OFF_NOW


def test_words_too_long_are_refused_not_cut(bandaging, checked) -> None:
    with pytest.raises(InputError, match="0 to 2000 characters; received 2001"):
        checked(GOOD_ANSWERS, words="x" * 2001)
    assert not bandaging.checks.exists()


@pytest.mark.parametrize(
    ("answers", "words"),
    [({"warmth": ""}, "still open: Toes feel"), ({"pain": "11"}, "0 to 10; received '11'")],
)
def test_a_box_left_open_is_named(checked, answers, words) -> None:
    with pytest.raises(InputError, match=words):
        checked({**GOOD_ANSWERS, **answers})


def test_a_deed_without_anything_bad_is_refused(checked, did) -> None:
    with pytest.raises(InputError, match="Every box is good"):
        checked(GOOD_ANSWERS, deed="called")
    with pytest.raises(InputError, match="Nothing stands open"):
        did("called")
    with pytest.raises(InputError, match="Choose from the list"):
        did("sung")


def test_an_alarm_of_the_other_leg_is_not_this_legs(clinic, checked) -> None:
    from gaiter.records.actions.people import open_episode

    checked(BAD)
    other = open_episode(Actor(clinic.accounts["bandager"]), clinic.person, "left")
    assert open_alarm(other) is None
