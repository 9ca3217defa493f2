"""What the sheet prints, against values worked out by hand from a small plan."""

import pytest

from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Fit, Status
from gaiter.core.plan.document import Alternative
from gaiter.core.plan.pressures import Rise
from gaiter.core.safety import Outcome, Reason, RuleKind
from gaiter.core.words import Said
from gaiter.sheets.content import CHECKS_AFTER, CHECKS_BEFORE_AND_AFTER, sheet_content
from tests.sheets import small_plan as small


def content(leg=None, **changes):
    leg = leg or small.leg()
    return sheet_content(small.plan(legs={leg.side: leg}, **changes), leg)


def system_content(**changes):
    return content(small.leg(systems=(small.system(**changes),)))["system"]


def test_a_layer_says_width_overlap_stretch_marks_and_rolls() -> None:
    wool, elastic = content()["system"]["layers"]
    assert (wool["width"], wool["overlap"]) == ("10 cm wide", "each turn covers half of the last")
    assert (wool["stretch"], wool["spacing"], wool["foot_spacing"]) == ("none", "", "")
    assert (wool["rolls"], wool["turns"], wool["pattern"]) == ("2 rolls", "12 turns", "spiral")
    assert elastic["width"] == "8 cm wide, 10 cm from the ankle up"
    assert elastic["overlap"] == "each turn covers three quarters of the last"
    assert elastic["pattern"] == "herringbone (figure-of-eight)"
    assert elastic["stretch"] == "50 %"
    assert (elastic["spacing"], elastic["foot_spacing"]) == ("15.0 cm", "13.0 cm")
    assert (elastic["rolls"], elastic["joins"], elastic["note"]) == (
        "1 roll", "over the shin", "wash cold",
    )  # fmt: skip


def test_a_spacing_is_printed_to_a_millimetre() -> None:
    one = system_content(layers=(small.elastic(mark_spacing_cm=14.26, foot_mark_spacing_cm=None),))
    assert one["layers"][0]["spacing"] == "14.3 cm"
    assert one["layers"][0]["foot_spacing"] == ""


@pytest.mark.parametrize(
    ("overlap", "words"),
    [(0.5, "half"), (0.667, "two thirds"), (0.333, "one third"), (0.75, "three quarters"),
     (0.51, "half"), (0.55, "55%"), (0.6, "60%")],
)  # fmt: skip
def test_an_overlap_is_a_word_only_where_it_is_that_share(overlap, words) -> None:
    one = system_content(layers=(small.elastic(overlap=overlap),))["layers"][0]
    assert one["overlap"] == f"each turn covers {words} of the last"


def test_a_layer_that_presses_without_marks_is_just_taut() -> None:
    paste = small.elastic(mark_spacing_cm=None, stretch_percent=2.0)
    assert system_content(layers=(paste,))["layers"][0]["stretch"] == "just taut"
    flat = small.elastic(mark_spacing_cm=None, stretch_percent=0.0)
    assert system_content(layers=(flat,))["layers"][0]["stretch"] == "none"


def test_gauge_lengths_are_marks_and_what_stays_in_sight_in_mm() -> None:
    """Marks of 13 and 15 cm; of 8 and 10 cm of width a quarter stays in sight: 20 and 25 mm."""
    gauge = content()["system"]["gauge"]
    assert [mark["mm"] for mark in gauge] == [130.0, 150.0, 20.0, 25.0]
    assert [mark["text"] for mark in gauge] == [
        "Elastic, foot and ankle: marks this far apart",
        "Elastic, from the ankle up",
        "Elastic: so much of the last turn stays in sight",
        "Elastic, 10 cm wide: so much of the last turn stays in sight",
    ]


def test_a_plain_layer_has_one_mark_and_one_width_on_the_gauge() -> None:
    plain = small.elastic(
        width_cm=12.0, leg_width_cm=None, overlap=0.5, mark_spacing_cm=14.26,
        foot_mark_spacing_cm=None,
    )  # fmt: skip
    gauge = system_content(layers=(small.wool(), plain))["gauge"]
    assert [mark["mm"] for mark in gauge] == [142.6, 60.0]
    assert gauge[0]["text"] == "Elastic: marks stand this far apart"


def test_a_site_prints_girth_band_and_chances() -> None:
    """38.4 mmHg between 30.8 and 48.1; chances of 63.4 % and 0.4 %."""
    ankle, gaiter = content()["system"]["sites"]
    assert ankle == {
        "name": "ankle", "girth": "22.5", "target": "30–40", "median": "38", "band": "31–48",
        "in_range": "63 %", "above": "< 1 %", "maximum": "60",
    }  # fmt: skip
    assert (gaiter["target"], gaiter["in_range"], gaiter["above"], gaiter["maximum"]) == (
        "–", "–", "0 %", "–",
    )  # fmt: skip
    assert content()["system"]["every"] == "57 %"


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "0 %"),
        (0.0049, "< 1 %"),
        (0.005, "< 1 %"),
        (0.0051, "1 %"),
        (0.016, "2 %"),
        (1, "100 %"),
    ],
)
def test_a_small_chance_is_never_printed_as_none(chance, said) -> None:
    one = system_content(
        sites=(small.site(Landmark.ANKLE, 22.0, 38.0, chance_above_maximum=chance),)
    )
    assert one["sites"][0]["above"] == said


def test_a_pressure_point_is_numbered_with_and_without_its_pad() -> None:
    outer, shin = content()["system"]["points"]
    assert (outer["place"], shin["place"]) == ("1 outer ankle", "2 shin")
    assert [outer[name] for name in ("median", "high", "maximum", "padding", "bare")] == [
        "72", "98", "120", "10", "143",
    ]  # fmt: skip
    assert (outer["exceeds"], shin["exceeds"], shin["padding"]) == (False, True, "–")


def test_what_is_padded_filled_and_covered_in_the_order_of_the_work() -> None:
    assert content()["system"]["protect"] == [
        "Wool once all over",
        "Pads of wool: outer ankle 10 mm",
        "shin: up to 98 mmHg all the same, its maximum is 120; keep turns off it",
        "behind the ankle: fill the hollow, 8 mm deep",
        "heel: 2 cm² uncovered – a fault, cover it",
        "sole: 4 cm² uncovered",
    ]


def test_a_place_above_its_maximum_with_its_pad_says_so_beside_the_pad() -> None:
    over = small.point("outer ankle", high_mmhg=131.0, exceeds=True, overstated=True)
    lines = system_content(
        pressure_points=(over,), bridged=(), gaps=(), dressing="dressing: 3 mmHg"
    )
    assert lines["protect"] == [
        "Wool once all over",
        "outer ankle: pad of 10 mm; up to 131 mmHg all the same, its maximum is 120 "
        "(surface overstates this place)",
        "dressing: 3 mmHg",
    ]


def test_what_is_judged_round_the_limb_is_said_under_the_pressures() -> None:
    assert content()["system"]["round"] == []
    ankle = small.site(Landmark.ANKLE, 22.0, 35.0, is_ring=True, inner_mmhg=15.6, highest_mmhg=89.5)
    (words,) = system_content(sites=(ankle,))["round"]
    assert words == (
        "The ankle is judged by its mean round the limb, likely 35 mmHg. A sensor on its inner "
        "side would likely read 16; its highest 2.5 cm likely have 90."
    )


def test_standing_and_spread_in_words() -> None:
    said = content()["system"]
    assert said["standing"] == (
        "Standing, girth up by 0.5 cm: about 52 mmHg at the gaiter; static stiffness 18 mmHg "
        "(stiff), 36 mmHg for a centimetre."
    )
    assert said["spread"] == "The band at the gaiter comes from: stretch of the hands 60 %."
    assert system_content(spread_from=())["spread"] == ""
    soft = small.system().standing.model_copy(update={"stiff": False})
    assert "(not stiff)" in system_content(standing=soft)["standing"]
    paste = small.system().standing.model_copy(update={"at_least": True})
    assert system_content(standing=paste)["standing"] == (
        "Standing, girth up by 0.5 cm: at least 52 mmHg at the gaiter; static stiffness at least "
        "18 mmHg (stiff, a layer does not stretch), at least 36 mmHg for a centimetre."
    )


def test_each_turn_that_wrinkles_is_named_once() -> None:
    assert content()["system"]["wrinkles"] == ["turn 3, instep, heel", "turn 4, heel"]


def test_what_is_taken_from_stock() -> None:
    assert content()["system"]["supplies"] == [
        {"title": "Wool", "now": "2 rolls", "week": "4 rolls"}
    ]


def test_days_and_numbers_of_the_leg() -> None:
    said = content()
    assert (said["today"], said["next_visit"]) == ("9 November 2026", "1 December 2026")
    assert content(small.leg(next_visit=None))["next_visit"] == ""
    assert said["target"] == "30–40 mmHg at the gaiter: Consensus"
    assert {row["name"]: row["value"] for row in said["numbers"]} == {
        "ABI (ABPI)": "1.02", "toe index": "not measured", "arm": "130 mmHg",
        "ankle": "132.6 mmHg", "toe": "not measured", "oxygen at the skin": "not measured",
    }  # fmt: skip
    assert said["measured"] == (
        "Girths, cm: ankle 22.5, gaiter 27.0. Volume ankle to below knee 2346 mL. "
        "Estimated, not measured: position of calf."
    )
    assert said["versions"] == (
        "Gaiter 1.2.3; Own policy 4 (01234567); catalogue fedcba98; seed 7, 256 bandages sampled; "
        "hands: trained"
    )


def test_the_label_of_the_case_and_the_allergy() -> None:
    said = content()
    assert (said["side"], said["wound"], said["reference"]) == (
        "right",
        "inner ankle",
        "Heron Ford",
    )
    assert (said["latex"], said["invented"], said["headline"]) == (
        True, False, "Full: aim 30–40 mmHg",
    )  # fmt: skip
    bare = small.plan().case.model_copy(update={"allergies": ("colophony",), "reference": None})
    assert (content(case=bare)["latex"], content(case=bare)["reference"]) == (False, "")
    assert content(small.leg(wound_place=None))["wound"] == ""


def test_start_and_end_are_named_in_the_reminders() -> None:
    text = " ".join(content()["reminders"])
    assert "Start at the instep;" in text
    assert "End just below the knee." in text
    short = small.system().padding.model_copy(update={"end": Landmark.CALF, "start": None})
    text = " ".join(content(small.leg(systems=(small.system(padding=short),)))["reminders"])
    assert "Start at the metatarsal heads;" in text
    assert "End at the calf." in text


@pytest.mark.parametrize(
    ("outcome", "sign"),
    [(Outcome.FULL, "tick"), (Outcome.REDUCED, "triangle"), (Outcome.NOT_YET, "triangle"),
     (Outcome.STOP, "octagon")],
)  # fmt: skip
def test_each_outcome_has_its_sign(outcome, sign) -> None:
    assert content(small.leg(decision=small.decision(outcome=outcome)))["sign"] == sign


def test_what_limits_is_named_and_what_is_to_be_minded() -> None:
    said = content()
    assert said["stops"] == [
        {
            "kind": "cap", "text": "Never above 40.", "source": "Guideline (consensus)",
            "disagreement": "others say 30",
        }
    ]  # fmt: skip
    assert [reason["text"] for reason in said["other_reasons"]] == ["Fragile skin."]
    assert said["mind"] == ["Fragile skin."]
    override = Reason(
        code="override", kind=RuleKind.CAP, text="Set aside.", source="-", strength="-"
    )
    told = small.decision(reasons=(small.CAP, small.CAUTION, override))
    assert content(small.leg(decision=told))["mind"] == ["Fragile skin.", "Set aside."]


def test_a_stopped_leg_has_no_system_and_no_target() -> None:
    stopped = small.leg(
        status=Status.STOPPED, status_reason="pain at rest", systems=(), target=None, surface=None,
        decision=small.decision(outcome=Outcome.STOP, maximum_mmhg=None, headline="Stop and refer"),
    )  # fmt: skip
    said = content(stopped)
    assert (said["system"], said["target"], said["measured"], said["questions"]) == (
        None, "", "", [],
    )  # fmt: skip
    assert (said["headline"], said["status_reason"]) == ("Stop and refer", "pain at rest")


def test_a_reason_that_the_chosen_system_shares_is_not_said_of_another() -> None:
    other = small.system(
        title="Paste", outcome=Fit.TO_ACCEPT, outcome_reason="too high at the calf; more, wanted",
        reasons_for=("simple (trial 2019)", "stiff (Partsch (2008))"), reasons_against=("wet",),
        chance_every_site_in_range=0.301,
        to_accept=(
            Rise(lower=Landmark.ANKLE, upper=Landmark.CALF, lower_mmhg=30, upper_mmhg=36,
                 percent=20).name,
        ),
    )  # fmt: skip
    stocking = Alternative(
        name="hosiery", title="Hosiery", level="20–30 mmHg (maker)", reasons_against=("slips (x)",)
    )
    said = content(small.leg(systems=(small.system(), other), alternatives=(stocking,)))
    assert said["others"] == [
        "Paste (to be accepted by name, too high at the calf, rise from the ankle to the calf, "
        "every site in range 30 %): for: stiff; against: wet",
        "Hosiery, instead of a bandage: 20–30 mmHg: against: slips",
    ]


def test_excluded_systems_with_one_reason_stand_in_one_line() -> None:
    excluded = ("A: latex (allergy)", "B: latex (allergy)", "Reduced: C: no stock", "D")
    assert content(small.leg(excluded=excluded))["excluded"] == [
        "A; B: latex", "Reduced: C: no stock", "D",
    ]  # fmt: skip


def test_the_boxes_to_tick_are_those_of_the_check_and_a_second_look() -> None:
    assert tuple(content()["checks_both"]) == CHECKS_BEFORE_AND_AFTER
    assert content()["checks_after"][-1] == "All again after 10 to 15 minutes' walking"
    assert tuple(content()["checks_after"]) == CHECKS_AFTER


def test_the_sides_of_a_plan_keep_their_own_numbers() -> None:
    left = small.leg(
        side=Side.LEFT, systems=(small.system(layers=(small.elastic(mark_spacing_cm=12.0),)),)
    )
    whole = small.plan(legs={Side.RIGHT: small.leg(), Side.LEFT: left})
    marks = {
        side: [mark["mm"] for mark in sheet_content(whole, one)["system"]["gauge"]][1]
        for side, one in whole.legs.items()
    }
    assert marks == {Side.RIGHT: 150.0, Side.LEFT: 120.0}


def test_what_the_clinic_changed_of_policy_and_systems_is_on_the_sheet() -> None:
    said = "bandage system added: Our own (Heron Ford, version 1)"
    versions = small.plan().versions.model_copy(
        update={
            "policy_changes": (Said("ankle stop 60 to 70 mmHg"),),
            "systems_changes": (Said(said),),
        }
    )
    made = sheet_content(small.plan(versions=versions), small.leg())
    assert made["systems_changes"] == [said]
    assert made["policy_changes"] == ["ankle stop 60 to 70 mmHg"]
