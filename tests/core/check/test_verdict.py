"""What is seen under a bandage decides: it stays, is loosened, or comes off at once."""

import re

import pytest

from gaiter.core.check import CHECK_BOXES, Verdict, judge_check
from gaiter.core.errors import InputError

GOOD = {key: box.good for key, box in CHECK_BOXES.items()} | {"pain": 1}
BEFORE = {key: GOOD[key] for key in ("colour", "refill", "warmth", "feeling", "movement", "pain")}


def judged(policy, before=None, **seen):
    return judge_check(GOOD | seen, BEFORE if before is None else before, policy)


def test_paler_cold_and_in_pain_comes_off_at_once(policy) -> None:
    made = judged(policy, colour="paler", warmth="cold", pain=8)
    assert made.verdict is Verdict.TAKE_OFF
    assert made.headline == "TAKE IT OFF NOW"
    assert [one.key for one in made.failed] == ["colour", "warmth", "pain"]
    assert "Toes feel: cold (before the bandage warm)" in [one.text for one in made.failed]
    assert "10 minutes later look at colour" in made.what_next[1].text


@pytest.mark.parametrize(
    "seen",
    [
        {"colour": "white"}, {"colour": "bluer"}, {"colour": "greyer"}, {"colour": "paler"},
        {"warmth": "cold"}, {"feeling": "some toes"}, {"feeling": "no toe"},
        {"movement": "some toes"}, {"movement": "no toe"}, {"pain": 7},
        {"refill": "slower", "warmth": "cool"},
    ],
)  # fmt: skip
def test_signs_of_no_blood_or_no_nerve_come_off(policy, seen) -> None:
    assert judged(policy, **seen).verdict is Verdict.TAKE_OFF


@pytest.mark.parametrize(
    "seen",
    [
        {"fingers": "no"}, {"comfort": "no"}, {"shoe": "no"}, {"fingers": "no", "comfort": "no"},
        {"pain": 4}, {"pain": 6}, {"refill": "slower"}, {"warmth": "cool"}, {"colour": "redder"},
        {"fingers": "no", "refill": "slower"},
    ],
)  # fmt: skip
def test_a_tight_edge_or_discomfort_alone_is_loosened(policy, seen) -> None:
    made = judged(policy, **seen)
    assert made.verdict is Verdict.LOOSEN
    assert all("before" not in one.text for one in made.failed if one.key in ("fingers", "shoe"))
    assert "Look again in 10 minutes. Not good then: take it off." in map(str, made.what_next)


def test_every_box_good_stays_and_asks_for_a_look_after_walking(policy) -> None:
    made = judged(policy)
    assert (made.verdict, made.failed, made.as_before) == (Verdict.GOOD, (), ())
    assert [step.text for step in made.what_next] == [
        "Check again after 10 to 15 minutes' walking where the person walks."
    ]


def test_pain_of_three_stays(policy) -> None:
    assert judged(policy, pain=3).verdict is Verdict.GOOD


@pytest.mark.parametrize(
    ("before", "now", "verdict"),
    [(5, 5, Verdict.GOOD), (5, 6, Verdict.LOOSEN), (8, 8, Verdict.LOOSEN), (8, 9, Verdict.TAKE_OFF),
     (0, 3, Verdict.GOOD), (6, 4, Verdict.GOOD)],
)  # fmt: skip
def test_pain_is_judged_against_pain_before_the_bandage(policy, before, now, verdict) -> None:
    assert judged(policy, {**BEFORE, "pain": before}, pain=now).verdict is verdict


@pytest.mark.parametrize(
    ("box", "before", "now"),
    [("warmth", "cold", "cold"), ("feeling", "some toes", "some toes"),
     ("colour", "paler", "paler"), ("movement", "no toe", "some toes"),
     ("refill", "slower", "slower")],
)  # fmt: skip
def test_what_was_so_before_the_bandage_is_said_and_asks_for_nothing(
    policy, box, before, now
) -> None:
    made = judged(policy, {**BEFORE, box: before}, **{box: now})
    assert made.verdict is Verdict.GOOD
    assert len(made.as_before) == 1


@pytest.mark.parametrize("colour", ["white", "bluer", "greyer"])
def test_white_or_blue_comes_off_even_if_it_was_so_before(policy, colour) -> None:
    assert judged(policy, {**BEFORE, "colour": colour}, colour=colour).verdict is Verdict.TAKE_OFF


def test_worse_than_before_is_new(policy) -> None:
    made = judged(policy, {**BEFORE, "feeling": "some toes"}, feeling="no toe")
    assert made.verdict is Verdict.TAKE_OFF


@pytest.mark.parametrize("seen", [{"warmth": "cold"}, {"feeling": "some toes"}, {"pain": 7}])
def test_toes_that_were_not_looked_at_before_count_as_new(policy, seen) -> None:
    made = judged(policy, {}, **seen)
    assert made.verdict is Verdict.TAKE_OFF
    assert "not looked at before the bandage" in made.failed[0].text


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({"warmth": ""}, "still open: Toes feel"),
        ({"colour": "yes"}, "still open: Toe colour"),
        ({"pain": "11"}, "0 to 10; received '11'"),
        ({"pain": "-1"}, "received '-1'"),
        ({"pain": "²"}, "received '²'"),
        ({"pain": ""}, "received ''"),
    ],
)
def test_a_box_left_open_is_refused_by_name(policy, seen, words) -> None:
    with pytest.raises(InputError, match=re.escape(words)):
        judged(policy, **seen)


def test_each_answer_but_the_good_one_asks_for_something(policy) -> None:
    for key, box in CHECK_BOXES.items():
        for answer in list(box.answers)[1:]:
            assert judged(policy, **{key: answer}).verdict is not Verdict.GOOD, (key, answer)


def test_a_worse_toe_never_gives_a_milder_verdict(policy) -> None:
    order = list(Verdict)
    for key, box in CHECK_BOXES.items():
        ranks = [order.index(judged(policy, **{key: a}).verdict) for a in box.answers]
        assert ranks == sorted(ranks), key


def test_the_thresholds_are_the_policys(policy) -> None:
    def changed(name: str, value: float):
        entry = policy.values[name].model_copy(update={"value": value})
        return policy.model_copy(update={"values": {**policy.values, name: entry}})

    assert judged(changed("pain_bad_above", 2), pain=3).verdict is Verdict.LOOSEN
    assert judged(changed("pain_severe_from", 6), pain=6).verdict is Verdict.TAKE_OFF
    assert "15 minutes later" in judged(changed("check_again_min", 15), pain=9).what_next[1].text
