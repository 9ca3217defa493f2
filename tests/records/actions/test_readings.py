"""Readings of a bandage, what they teach, and whose hands and sensor learn from them."""

import importlib
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.apps import apps

from gaiter.core.applied.document import Applied
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.files.policy_file import shipped_policy
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.append_only import lifted
from gaiter.records.ledger import AlreadyDoneError, broken_at, local_day
from gaiter.records.models import (
    AppliedRecord,
    Attempt,
    Bandaging,
    Episode,
    PlanRecord,
    Reading,
    Role,
    Visit,
)
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.habits import (
    bandager_of,
    calibration,
    habits_of,
    sensor_readings_before,
)
from gaiter.records.visit.case import assembled, case_of, safety_case_of
from tests.clinic import attempt_of
from tests.records.models.rows import changed, made


@pytest.fixture
def bandaging(clinic):
    plan = clinic.approved()
    actor = clinic.actor()
    return record_bandaging(actor, clinic.visit, plan, actor.today + timedelta(days=2))


def layer(bandaging):
    system = leg_of(plan_of(bandaging.plan)).systems[0]
    return [one for one in system.layers if one.fabric][-1]


def marks(bandaging, *off_cm: float) -> list[Read]:
    """Spacings at the three heights, so far off the planned ones."""
    one = layer(bandaging)
    return [
        Read("spacing", one.number, place, one.mark_spacing_cm + off)
        for place, off in zip(("ankle", "calf", "below_knee"), off_cm, strict=False)
    ]


def test_readings_and_their_advice_are_kept_in_one_action(clinic, bandaging) -> None:
    made = record_readings(clinic.actor(), bandaging, marks(bandaging, 0, 0, 0), "once")
    assert Reading.objects.count() == 3
    applied = Applied.model_validate_json(made.document)
    assert made.advice == applied.advice.value
    assert applied.system == made.system == bandaging.plan.system
    assert broken_at() is None
    with pytest.raises(AlreadyDoneError):
        record_readings(clinic.actor(), bandaging, marks(bandaging, 0, 0, 0), "once")


def test_a_later_reading_replaces_an_earlier_one_of_the_same_place(clinic, bandaging) -> None:
    record_readings(clinic.actor(), bandaging, marks(bandaging, -2.0, 0, 0))
    made = record_readings(clinic.actor(), bandaging, marks(bandaging, 0.1))
    spacing = next(
        spacing
        for one in Applied.model_validate_json(made.document).layers
        if one.number == layer(bandaging).number
        for spacing in one.spacings
        if spacing.place is Landmark.ANKLE
    )
    assert spacing.read_cm == pytest.approx(layer(bandaging).mark_spacing_cm + 0.1)
    assert Reading.objects.count() == 4
    assert AppliedRecord.objects.count() == 2


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (Read("spacing", 9, "calf", 15.0), "layer of a mark spacing must be one that stretches"),
        (Read("spacing", 1, "calf", 9.0), r"layer 1, calf: must be 10 to 30 cm; received 9"),
        (Read("spacing", 1, "calf", 5.9), "this looks like inches, give 15.0 cm"),
        (Read("spacing", 1, "nowhere", 15.0), "place must be one of the leg's; received nowhere"),
        (Read("sensor", 0, "gaiter", 200.0), "sensor, gaiter: must be 0 to 150 mmHg"),
        (Read("guess", 0, "gaiter", 20.0), "mark spacing, an overlap or a sensor's value"),
        (Read("sensor", 0, "heel_instep", 20.0), "must be a reading site, gaiter, ankle, calf"),
    ],
)
def test_what_cannot_be_read_is_refused_and_nothing_is_kept(clinic, bandaging, read, words) -> None:
    with pytest.raises(InputError, match=words):
        record_readings(clinic.actor(), bandaging, [*marks(bandaging, 0), read])
    assert not Reading.objects.exists()
    assert not AppliedRecord.objects.exists()


def test_an_overlap_alone_is_kept_and_tells_nothing_yet(clinic, bandaging) -> None:
    one = Read("overlap", layer(bandaging).number, "", 4.5)
    assert record_readings(clinic.actor(), bandaging, [one]) is None
    made = record_readings(clinic.actor(), bandaging, marks(bandaging, 0, 0, 0))
    overlaps = {
        one.number: one.overlap for one in Applied.model_validate_json(made.document).layers
    }
    assert overlaps[layer(bandaging).number] != layer(bandaging).overlap


def test_nothing_new_is_said(clinic, bandaging) -> None:
    with pytest.raises(InputError, match="Nothing new was read"):
        record_readings(clinic.actor(), bandaging, [])


def test_a_plan_from_before_keeps_its_readings(clinic, bandaging) -> None:
    plan = plan_of(bandaging.plan)
    leg = leg_of(plan)
    bare = leg.model_copy(
        update={"systems": tuple(s.model_copy(update={"basis": None}) for s in leg.systems)}
    )
    text = plan.model_copy(update={"legs": {leg.side: bare}}).model_dump_json(by_alias=True)
    old = PlanRecord(document=text, sha256="of an old plan", maximum_mmhg=60)
    bandaging.plan = old
    assert record_readings(clinic.actor(), bandaging, marks(bandaging, 0)) is None
    assert Reading.objects.count() == 1


def test_hands_learn_from_the_last_word_on_each_bandage_they_laid(clinic, bandaging) -> None:
    policy, today = shipped_policy(), clinic.actor().today
    record_readings(clinic.actor(Role.PRESCRIBER), bandaging, marks(bandaging, 1.0, 1.0, 1.0))
    record_readings(clinic.actor(), bandaging, marks(bandaging, -1.2, -1.2, -1.2))
    material = layer(bandaging).material
    habit = habits_of(clinic.accounts[Role.BANDAGER], policy, today)[material]
    assert habit.readings == 3
    assert habit.heights[Landmark.CALF].tension_percent < -3
    # Whoever typed the readings did not lay the bandage.
    assert habits_of(clinic.accounts[Role.PRESCRIBER], policy, today) == {}


def test_practice_teaches_the_hands_too(clinic) -> None:
    attempt_of(clinic.actor(Role.LEARNER))
    learner = clinic.accounts[Role.LEARNER]
    known = bandager_of(learner, shipped_policy(), date.today())
    assert known.training.value == learner.training
    assert known.initials == learner.initials
    assert known.habits
    assert {habit.readings for habit in known.habits.values()} == {3}


def test_the_sensor_teaches_the_next_plan(clinic, bandaging) -> None:
    policy = shipped_policy()
    assert calibration(policy) is None
    assert case_of(assembled(clinic.visit)).calibration is None
    low = Read("sensor", 0, "gaiter", 22.0)
    record_readings(clinic.actor(), bandaging, [*marks(bandaging, 0, 0, 0), low])
    learnt = calibration(policy)
    assert learnt.clinic.values == learnt.clinic.bandages == 1
    assert learnt.clinic.median < policy["theory_remainder_median"]
    assert case_of(assembled(clinic.visit)).calibration == learnt


def test_the_sensors_sites_are_kept_apart(clinic, bandaging) -> None:
    sites = {site.landmark: site for site in leg_of(plan_of(bandaging.plan)).systems[0].sites}
    gaiter, ankle = (sites[at] for at in (Landmark.GAITER, Landmark.ANKLE))
    both = [
        Read("sensor", 0, "gaiter", gaiter.median_mmhg),
        Read("sensor", 0, "ankle", round(0.6 * ankle.inner_mmhg, 1)),
    ]
    record_readings(clinic.actor(), bandaging, [*marks(bandaging, 0, 0, 0), *both])
    learnt = calibration(shipped_policy())
    # The gaiter is as planned, and so is the clinic's level, whatever the ankle reads.
    assert learnt.clinic.median == pytest.approx(
        shipped_policy()["theory_remainder_median"], rel=0.03
    )
    (ankle_offset,) = learnt.sites.values()
    assert (ankle_offset.bandages, ankle_offset.legs) == (1, 1)
    assert 0.6 < ankle_offset.median < 0.95
    (kept,) = AppliedRecord.objects.values_list("sensor", flat=True)
    assert set(kept[3]) == {"ankle"}
    # Kept before sites stood apart, their mean: taken from the document anew.
    with lifted():
        AppliedRecord.objects.update(sensor=[-0.4, 0.1, 2])
    assert calibration(shipped_policy()) == learnt


def next_visit(clinic) -> Visit:
    """A visit a week later."""
    actor = clinic.actor()
    changed(clinic.visit, signed_at=actor.now, signed_by=actor.account)
    day = clinic.visit.day + timedelta(days=7)
    visit = made(Visit, episode=clinic.episode, day=day, opened_by=actor.account)
    clinic_then = replace(clinic, visit=visit)
    clinic_then.fill()
    return visit


def test_a_legs_readings_stay_with_the_leg(clinic, bandaging) -> None:
    """The next visit of the episode carries them; this visit and another leg do not."""
    low = Read("sensor", 0, "gaiter", 22.0)
    record_readings(clinic.actor(), bandaging, [*marks(bandaging, 0, 0, 0), low])
    assert sensor_readings_before(clinic.visit) == []
    later = next_visit(clinic)
    (told,) = sensor_readings_before(later)
    assert (told.site, told.mmhg, told.system) == (Landmark.GAITER, 22.0, bandaging.plan.system)
    assert told.on == local_day(bandaging.at)
    side = later.episode.side
    assert case_of(assembled(later)).legs[side].sensor_readings == (told,)
    # A decision needs no theory, and makes no query for it.
    assert safety_case_of(assembled(later)).legs[side].sensor_readings == ()
    other = made(Episode, person=later.episode.person, side="left" if side == "right" else "right")
    assert sensor_readings_before(made(Visit, episode=other, day=later.day)) == []


def test_a_leg_keeps_the_last_word_on_its_newest_bandages_with_a_sensor(clinic, bandaging) -> None:
    """Not what was said of it first, what lies undone, or bandages without a sensor's value."""
    actor = clinic.actor()
    record_readings(actor, bandaging, [*marks(bandaging, 0, 0, 0), Read("sensor", 0, "gaiter", 25)])
    record_readings(actor, bandaging, [Read("sensor", 0, "gaiter", 27.0)])
    later = next_visit(clinic)
    assert [one.mmhg for one in sensor_readings_before(later)] == [27.0]
    last = AppliedRecord.objects.order_by("-pk").first()

    def another(day: int, **changes):
        one = made(
            Bandaging, visit=bandaging.visit, plan=bandaging.plan, at=bandaging.at - timedelta(day),
            **changes,
        )  # fmt: skip
        made(AppliedRecord, bandaging=one, document=last.document, system=last.system)
        return one

    another(1)
    assert len(sensor_readings_before(later)) == 1
    undone = another(2, undone_at=bandaging.at, undone_by=actor.account, undone_why="by mistake")
    for day in range(3, 10):
        made(Reading, bandaging=another(day), kind="sensor", value=27.0)
    made(Reading, bandaging=undone, kind="sensor", value=27.0)
    days = [one.on for one in sensor_readings_before(later)]
    assert days == [local_day(bandaging.at) - timedelta(day) for day in (6, 5, 4, 3, 0)]


def test_a_reading_that_says_the_same_again_is_kept_once(clinic, bandaging) -> None:
    first = marks(bandaging, 0, 0.2)
    record_readings(clinic.actor(), bandaging, first)
    record_readings(clinic.actor(), bandaging, [*first, *marks(bandaging, 0, 0.2, 0.4)])
    assert Reading.objects.count() == 3
    with pytest.raises(InputError, match="Nothing new was read"):
        record_readings(clinic.actor(), bandaging, first)
    assert Reading.objects.count() == 3
    assert AppliedRecord.objects.count() == 2
    # Read a second time because it contradicts: that is new, though no number is.
    assert record_readings(clinic.actor(), bandaging, first, confirmed=True) is not None
    assert Reading.objects.count() == 3


def test_what_another_version_has_taken_is_taken_from_the_document_anew(clinic, bandaging) -> None:
    policy, today = shipped_policy(), clinic.actor().today
    sensor = Read("sensor", 0, "gaiter", 22.0)
    record_readings(clinic.actor(), bandaging, [*marks(bandaging, -1.2, -1.2, -1.2), sensor])
    nurse = clinic.accounts[Role.BANDAGER]
    habits, learnt = habits_of(nurse, policy, today), calibration(policy)
    with lifted():
        AppliedRecord.objects.update(hands=[], sensor=None)
    assert (habits_of(nurse, policy, today), calibration(policy)) == ({}, None)
    with lifted():
        AppliedRecord.objects.update(taken=0)
    assert (habits_of(nurse, policy, today), calibration(policy)) == (habits, learnt)


def test_practice_of_another_version_is_taken_anew(clinic) -> None:
    attempt_of(clinic.actor(Role.LEARNER))
    learner, policy = clinic.accounts[Role.LEARNER], shipped_policy()
    known = habits_of(learner, policy, date.today())
    with lifted():
        Attempt.objects.update(hands=[], taken=0)
    assert habits_of(learner, policy, date.today()) == known


def test_places_kept_by_their_printed_names_are_named_as_landmarks(clinic, bandaging) -> None:
    record_readings(clinic.actor(), bandaging, marks(bandaging, 0, 0, 0))
    rename = importlib.import_module("gaiter.records.migrations.0008_readings_once")
    with lifted():
        Reading.objects.filter(place="below_knee").update(place="below knee")
        rename.name_places(apps, None)
    assert set(Reading.objects.values_list("place", flat=True)) == {"ankle", "calf", "below_knee"}
