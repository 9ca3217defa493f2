"""Every way an alarm is raised, goes on and ends, from rows alone."""

from datetime import UTC, datetime, timedelta

import pytest

from gaiter.core.applied.document import Advice
from gaiter.core.check import Verdict, words
from gaiter.files.policy_file import shipped_policy
from gaiter.records.models import AppliedRecord, BandageEvent, Check, Deed
from gaiter.records.read.alarm import READINGS_SAY, AlarmFacts, State, alarm_of

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


class Story:
    """Rows one minute after the other, of one bandage unless another is named."""

    def __init__(self) -> None:
        self.rows = {"checks": [], "deeds": [], "applied": [], "events": []}
        self.at = NOON

    def _add(self, name, row):
        self.at += timedelta(minutes=1)
        row.at, row.pk = self.at, len(self.rows[name]) + 1
        self.rows[name].append(row)
        return self

    def check(self, verdict, bandaging=1, deed="", failed=("toes cold",)):
        row = Check(bandaging_id=bandaging, verdict=verdict, deed=deed, failed=list(failed))
        row.words = "said with the boxes"
        return self._add("checks", row)

    def did(self, *kinds, bandaging=1, said=""):
        for kind in kinds:
            self._add("deeds", Deed(bandaging_id=bandaging, kind=kind, words=said))
        return self

    def read(self, advice, bandaging=1):
        return self._add("applied", AppliedRecord(bandaging_id=bandaging, advice=advice))

    def event(self, kind):
        return self._add("events", BandageEvent(kind=kind, words=""))

    @property
    def alarm(self):
        return alarm_of(AlarmFacts(**self.rows), shipped_policy())

    @property
    def state(self):
        return self.alarm.state if self.alarm else None


OFF, LOOSE, GOOD = Verdict.TAKE_OFF, Verdict.LOOSEN, Verdict.GOOD
ALL = list(Deed.Kind)


def test_nothing_recorded_is_no_alarm() -> None:
    assert Story().state is None
    assert Story().check(GOOD).read(Advice.GOOD).state is None


# The way of an alarm, written down again by hand: state, what was done, and what stands then.
WAY = {
    State.LOOSEN: {
        "loosened": State.LOOSENED, "redone": State.LOOSENED, "taken_off": State.LOOK,
    },
    State.LOOSENED: {
        "recovered": None, "not_recovered": State.OFF_NOW, "taken_off": State.LOOK,
        "redone": State.LOOSENED,
    },
    State.OFF_NOW: {"taken_off": State.LOOK, "redone": State.LOOK},
    State.LOOK: {"recovered": None, "not_recovered": State.EMERGENCY},
    State.EMERGENCY: {"handed_over": State.HANDED_OVER},
    State.HANDED_OVER: {"cleared": None},
}  # fmt: skip


def standing(state) -> Story:
    story = Story()
    if state in (State.LOOSEN, State.LOOSENED):
        story.check(LOOSE)
        return story.did("loosened") if state is State.LOOSENED else story
    story.check(OFF)
    way = {
        State.OFF_NOW: (), State.LOOK: ("taken_off",),
        State.EMERGENCY: ("taken_off", "not_recovered"),
        State.HANDED_OVER: ("taken_off", "not_recovered", "handed_over"),
    }  # fmt: skip
    return story.did(*way[state])


@pytest.mark.parametrize("kind", ALL)
@pytest.mark.parametrize("state", State)
def test_what_is_done_leads_where_it_may_and_nowhere_else(state, kind) -> None:
    assert standing(state).state is state
    assert standing(state).did(kind).state is WAY[state].get(kind, state)


@pytest.mark.parametrize(
    ("state", "after"),
    [
        (State.LOOSEN, State.OFF_NOW), (State.LOOSENED, State.OFF_NOW),
        (State.OFF_NOW, State.OFF_NOW), (State.LOOK, State.OFF_NOW),
        (State.EMERGENCY, State.EMERGENCY), (State.HANDED_OVER, State.HANDED_OVER),
    ],
)  # fmt: skip
def test_toes_that_are_bad_again_never_make_it_milder(state, after) -> None:
    assert standing(state).check(OFF).state is after


@pytest.mark.parametrize(
    ("state", "after"),
    [
        (State.LOOSEN, State.LOOSEN), (State.LOOSENED, State.OFF_NOW),
        (State.OFF_NOW, State.OFF_NOW), (State.LOOK, State.LOOK),
        (State.EMERGENCY, State.EMERGENCY), (State.HANDED_OVER, State.HANDED_OVER),
    ],
)  # fmt: skip
def test_a_tight_edge_beside_a_graver_alarm_changes_nothing(state, after) -> None:
    """Not good at the look after loosening: off."""
    assert standing(state).check(LOOSE).state is after


@pytest.mark.parametrize("state", State)
def test_a_good_check_answers_a_loosened_bandage_only(state) -> None:
    expected = None if state is State.LOOSENED else state
    assert standing(state).check(GOOD).state is expected


def test_readings_raise_it_and_readings_take_it_back() -> None:
    story = Story().read(Advice.TAKE_OFF)
    assert (story.state, story.alarm.by_readings) == (State.OFF_NOW, True)
    assert story.alarm.failed == (READINGS_SAY,)
    assert story.read(Advice.GOOD).state is None


def test_readings_never_take_back_what_toes_raised() -> None:
    assert standing(State.OFF_NOW).read(Advice.TAKE_OFF).read(Advice.GOOD).state is State.OFF_NOW


def test_readings_of_another_bandage_take_nothing_back() -> None:
    assert Story().read(Advice.TAKE_OFF).read(Advice.GOOD, bandaging=2).state is State.OFF_NOW


def test_readings_take_nothing_back_once_it_is_off() -> None:
    assert Story().read(Advice.TAKE_OFF).did("taken_off").read(Advice.GOOD).state is State.LOOK


def test_readings_of_a_bandage_that_came_off_raise_nothing() -> None:
    story = standing(State.LOOK).did("recovered")
    assert story.read(Advice.TAKE_OFF).state is None
    assert story.read(Advice.TAKE_OFF, bandaging=2).state is State.OFF_NOW


@pytest.mark.parametrize(
    ("kind", "state", "after"),
    [("loosened", State.LOOSEN, State.LOOSENED), ("taken_off", State.OFF_NOW, State.LOOK),
     ("loosened", State.OFF_NOW, State.OFF_NOW)],
)  # fmt: skip
def test_what_anybody_records_counts_as_done(kind, state, after) -> None:
    assert standing(state).event(kind).state is after


def test_what_was_done_may_stand_with_the_boxes() -> None:
    assert Story().check(LOOSE, deed="loosened").state is State.LOOSENED
    assert Story().check(OFF, deed="taken_off").state is State.LOOK


def test_toes_that_do_not_come_back_are_an_emergency_without_an_alarm_before() -> None:
    story = Story().did("not_recovered")
    assert story.state is State.EMERGENCY
    assert [str(what) for what in story.alarm.failed] == ["looked again: not as before"]
    assert Story().did("recovered", "called", "cleared").state is None


def test_who_was_called_and_to_whom_it_was_handed_over_is_kept() -> None:
    story = standing(State.EMERGENCY).did("called").did("handed_over", said="Registrar, 10:40")
    assert story.alarm.called
    assert story.alarm.handed_to == "Registrar, 10:40"
    assert not standing(State.EMERGENCY).alarm.called


def test_rows_are_told_in_the_order_of_their_time_not_of_their_kind() -> None:
    """Off at the first bandage and good again; the second one is bad now."""
    story = standing(State.LOOK).did("recovered").check(OFF, bandaging=2)
    assert (story.state, story.alarm.bandaging) == (State.OFF_NOW, 2)
    assert story.alarm.since == story.at


def test_what_was_done_in_the_same_minute_stands_behind_what_it_answers() -> None:
    story = Story().did("taken_off").check(OFF)
    story.rows["deeds"][0].at = story.rows["checks"][0].at
    assert story.state is State.LOOK


@pytest.mark.parametrize(
    ("state", "off", "headline"),
    [
        (State.LOOSEN, False, words.LOOSEN_IT), (State.LOOSENED, False, words.LOOSENED),
        (State.OFF_NOW, True, "TAKE IT OFF NOW"), (State.LOOK, True, words.LOOK_AGAIN),
        (State.EMERGENCY, True, "SAME-DAY VASCULAR EMERGENCY"),
        (State.HANDED_OVER, True, words.HANDED_OVER),
    ],
)  # fmt: skip
def test_each_state_has_its_headline_sign_and_what_to_do(state, off, headline) -> None:
    alarm = standing(state).alarm
    assert (alarm.off, alarm.headline) == (off, headline)
    assert alarm.sign == ("stop" if off else "watch")
    assert alarm.next
    assert all(alarm.next)
