"""Rules about one leg's arteries."""

from collections.abc import Iterator

from gaiter.core.case import FOOT_WOUNDS, Bypass, Case, Leg, Waveform
from gaiter.core.policy import Policy
from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.core.safety.reason import Reason
from gaiter.core.safety.wording import fire


def arterial_reasons(
    case: Case, leg: Leg, numbers: ArterialNumbers, policy: Policy
) -> Iterator[Reason]:
    """Reasons from pressures, indices and grafts of one leg."""
    yield from _absolute_pressures(numbers, policy)
    yield from _indices(case, leg, numbers, policy)
    if numbers.ankle_brachial is not None or numbers.toe_brachial is not None:
        yield from _how_measured(case, leg, numbers, policy)
    yield from _grafts(leg, policy)


def _absolute_pressures(numbers: ArterialNumbers, policy: Policy) -> Iterator[Reason]:
    """Gates on raw pressures; each one stops by itself."""
    ankle, toe, oxygen = numbers.ankle_mmhg, numbers.toe_mmhg, numbers.tcpo2_mmhg
    if ankle is not None and ankle <= policy["ankle_stop_mmhg"]:
        yield fire("ankle_pressure", pressure=ankle, limit=policy["ankle_stop_mmhg"])
    if toe is not None and toe < policy["toe_stop_below_mmhg"]:
        yield fire("toe_pressure", pressure=toe, limit=policy["toe_stop_below_mmhg"])
    if oxygen is not None:
        hard, soft = (
            policy["tcpo2_hard_stop_below_mmhg"],
            policy["tcpo2_stop_below_mmhg"],
        )
        if oxygen < hard:
            yield fire("tcpo2_hard", pressure=oxygen, limit=hard)
        elif oxygen < soft:
            yield fire("tcpo2_stop", pressure=oxygen, limit=soft)


def _indices(case: Case, leg: Leg, numbers: ArterialNumbers, policy: Policy) -> Iterator[Reason]:
    """The index bands, and when the toe governs instead of the ankle."""
    index = numbers.ankle_brachial
    if index is not None:
        yield from _ankle_brachial_bands(index, policy)
    person = case.person
    because = None
    if index is not None and index > policy["ankle_brachial_stiff_above"]:
        because = f"the ABI (ABPI) is {index:.2f}"
    elif person.diabetes:
        because = "with diabetes"
    elif person.kidney_disease:
        because = "with kidney disease"
    untested = policy["untested_maximum_mmhg"]
    if index is None and numbers.toe_brachial is None:
        missing = " and ".join(
            name
            for name, value in (
                ("an arm", numbers.arm_mmhg),
                ("an ankle", numbers.ankle_mmhg),
            )
            if value is None
        )
        on_foot = leg.wound is not None and leg.wound.place in FOOT_WOUNDS
        if on_foot:
            yield fire("foot_wound_untested")
        yield fire("arterial_missing", cap_mmhg=untested, missing=f"{missing} pressure")
    elif because and numbers.toe_brachial is None:
        yield fire("toe_needed", cap_mmhg=untested, because=because)
    if numbers.toe_brachial is not None:
        yield from _toe_brachial_bands(numbers.toe_brachial, policy)


def _toe_brachial_bands(toe_index: float, policy: Policy) -> Iterator[Reason]:
    abnormal, unusual = policy["toe_brachial_abnormal_to"], policy["toe_brachial_unusual_above"]
    if toe_index <= abnormal:
        yield fire(
            "toe_brachial_reduced",
            cap_mmhg=policy["reduced_maximum_mmhg"],
            index=toe_index,
            limit=abnormal,
        )
    elif toe_index > unusual:
        yield fire(
            "toe_brachial_unusual",
            cap_mmhg=policy["untested_maximum_mmhg"],
            index=toe_index,
            limit=unusual,
        )


def _ankle_brachial_bands(index: float, policy: Policy) -> Iterator[Reason]:
    hard, stop = policy["ankle_brachial_hard_stop"], policy["ankle_brachial_stop_below"]
    if index <= hard:
        yield fire("ankle_brachial_hard", index=index, limit=hard)
    elif index < stop:
        yield fire("ankle_brachial_stop", index=index, limit=stop)
    elif index < policy["ankle_brachial_full_from"]:
        yield fire(
            "ankle_brachial_reduced",
            cap_mmhg=policy["reduced_maximum_mmhg"],
            index=index,
        )
    elif index <= policy["ankle_brachial_refer_to"]:
        yield fire("ankle_brachial_refer", index=index)
    elif policy["ankle_brachial_disputed_above"] < index <= policy["ankle_brachial_stiff_above"]:
        yield fire("ankle_brachial_high_normal", index=index)


def _how_measured(
    case: Case, leg: Leg, numbers: ArterialNumbers, policy: Policy
) -> Iterator[Reason]:
    """Whether the test can be relied on today."""
    test, findings = leg.arterial, leg.findings
    untested, limit = policy["untested_maximum_mmhg"], policy["arterial_test_days"]
    new_trouble = findings.new_pain or findings.colour_change
    if test.measured_on is None:
        yield fire("arterial_date_missing", cap_mmhg=untested)
    else:
        days = (case.today - test.measured_on).days
        if new_trouble:
            yield fire("new_pain_or_colour_tested" if days == 0 else "new_pain_or_colour")
        elif days > limit and findings.stable and leg.previous_level_mmhg is not None:
            yield fire(
                "arterial_overdue_stable",
                cap_mmhg=leg.previous_level_mmhg,
                days=days,
                limit=limit,
            )
        elif days > limit:
            yield fire("arterial_overdue", cap_mmhg=untested, days=days, limit=limit)
    if test.lying_flat is False:
        yield fire("not_lying_flat", cap_mmhg=untested)
    elif test.lying_flat is None:
        yield fire("lying_flat_not_said")
    if test.rested_min is not None and test.rested_min < policy["rest_min"]:
        yield fire("short_rest", rested=test.rested_min, limit=policy["rest_min"])
    difference, arm_limit = numbers.arm_difference_mmhg, policy["arm_difference_mmhg"]
    if difference is None:
        yield fire("one_arm")
    elif difference > arm_limit:
        yield fire("arms_differ", difference=difference, limit=arm_limit)
    if test.waveform is Waveform.MONOPHASIC:
        yield fire("waveform_monophasic")


def _grafts(leg: Leg, policy: Policy) -> Iterator[Reason]:
    bypass = leg.findings.bypass
    if bypass is None:
        yield fire("bypass_not_said", cap_mmhg=policy["untested_maximum_mmhg"])
    elif bypass is Bypass.SUPERFICIAL:
        yield fire("bypass_superficial")
    elif bypass is Bypass.DEEP:
        yield fire("bypass_deep")
    if leg.findings.stent:
        yield fire("stent")
    if leg.arterial.waveform is Waveform.ABSENT:
        yield fire("waveform_absent")
