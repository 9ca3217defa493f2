"""Whether arterial numbers can be believed and still hold: units, posture, arms, age of a test."""

from gaiter.core.safety.arterial import KILOPASCAL_PLACES
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    CHOICE,
    FIRES,
    GUIDELINE,
    OURS,
    SECOND_HAND,
    Carry,
    Fields,
    Rule,
    Scene,
    Subject,
)
from gaiter.core.safety.rules.arteries import ANKLES, ARMS, OXYGEN, TOE, toe_is_normal
from gaiter.core.words import AND, Said, words

_DATE, _FLAT = "leg.arterial.measured_on", "leg.arterial.lying_flat"
_RESTED, _WORSE = "leg.arterial.rested_min", "leg.findings.worse"
_UNUSABLE = "arms.unusable"
_RNAO = "RNAO (six-monthly)"


def _tested(scene: Scene) -> bool:
    numbers = scene.numbers
    return numbers.ankle_brachial is not None or numbers.toe_brachial is not None


def _missing(scene: Scene) -> Fields | None:
    if _tested(scene):
        return None
    known = (("an arm", scene.numbers.arm_mmhg), ("an ankle", scene.numbers.ankle_mmhg))
    return {"missing": words((name for name, value in known if value is None), AND)}


def _foot_wound_untested(scene: Scene) -> Fields | None:
    return FIRES if scene.leg.wound_on_foot and not _tested(scene) else None


def _ankle_missing(scene: Scene) -> Fields | None:
    numbers = scene.numbers
    toe_alone = numbers.toe_brachial is not None and numbers.ankle_mmhg is None
    return {"cap": scene.policy["reduced_maximum_mmhg"]} if toe_alone else None


def _one_ankle_artery(scene: Scene) -> Fields | None:
    test = scene.leg.arterial
    both = (test.dorsalis_pedis_mmhg, test.posterior_tibial_mmhg)
    if both.count(None) != 1 or toe_is_normal(scene):
        return None
    other = "posterior tibial" if test.posterior_tibial_mmhg is None else "dorsalis pedis"
    return {"other": Said(other), "cap": scene.policy["reduced_maximum_mmhg"]}


def _kilopascal(scene: Scene) -> Fields | None:
    places = [place for place in KILOPASCAL_PLACES if scene.numbers.in_kilopascal(place)]
    return {"places": words(places, AND)} if places else None


def _exchanged(scene: Scene) -> Fields | None:
    numbers, policy = scene.numbers, scene.policy
    high, arm, ankle = numbers.worst_high_index, numbers.arm_mmhg, numbers.ankle_mmhg
    if high is None or arm is None or ankle is None:
        return None
    looks = high > policy["exchanged_index_above"] and arm < policy["arm_low_below_mmhg"]
    return {"arm": arm, "ankle": ankle} if looks else None


def _arm_impossible(scene: Scene) -> Fields | None:
    arm, limit = scene.numbers.arm_mmhg, scene.policy["arm_implausible_to_mmhg"]
    return {"arm": arm, "limit": limit} if arm is not None and arm <= limit else None


def _arm_low(scene: Scene) -> Fields | None:
    arm, policy = scene.numbers.arm_mmhg, scene.policy
    limit = policy["arm_low_below_mmhg"]
    if arm is None or not policy["arm_implausible_to_mmhg"] < arm < limit:
        return None
    return {"arm": arm, "limit": limit}


def _one_arm(scene: Scene) -> Fields | None:
    alone = scene.numbers.arm_mmhg is not None and scene.numbers.arm_difference_mmhg is None
    return FIRES if alone and scene.case.arms.unusable is None else None


def _one_arm_only(scene: Scene) -> Fields | None:
    alone = scene.numbers.arm_mmhg is not None and scene.numbers.arm_difference_mmhg is None
    arm = scene.case.arms.unusable
    return {"arm": Said(arm)} if alone and arm is not None else None


def _arms_differ(scene: Scene) -> Fields | None:
    difference, limit = scene.numbers.arm_difference_mmhg, scene.policy["arm_difference_mmhg"]
    if difference is None or difference <= limit:
        return None
    return {"difference": difference, "limit": limit}


def _date_missing(scene: Scene) -> Fields | None:
    return FIRES if _tested(scene) and scene.leg.arterial.measured_on is None else None


def at_risk(scene: Scene) -> bool:
    """Whether arteries have to be tested again sooner: disease, or a wound that does not heal.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    bool

    References
    ----------
    ACC/AHA 2024 and SVS/AVF 2014 (an index of 0.90 or below is arterial disease); English national
    strategy, restated (a wound unhealed at 12 weeks). Who else is at risk is our choice.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> at_risk(Scene.where({"person.diabetes": True}, shipped_policy()))
    True
    """
    person, policy = scene.case.person, scene.policy
    index = scene.numbers.worst_low_index
    wound = scene.leg.wound
    # A wound of unknown age counts as one that has stood long.
    long_open = scene.leg.has_wound and (
        wound is None
        or wound.duration_weeks is None
        or wound.duration_weeks >= policy["wound_long_weeks"]
    )
    return bool(
        person.diabetes
        or person.kidney_disease
        or person.rheumatoid_arthritis
        or (index is not None and index <= policy["ankle_brachial_refer_to"])
        or long_open
    )


def interval_days(scene: Scene) -> float:
    """Days after which the arterial test is due again.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    float
        [days]

    References
    ----------
    RNAO (six-monthly); three-monthly at risk is from memory, not verified.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> policy = shipped_policy()
    >>> days = interval_days(Scene.where({"person.diabetes": True}, policy))
    >>> days == policy["arterial_test_risk_days"]
    True
    """
    policy = scene.policy
    return policy["arterial_test_risk_days"] if at_risk(scene) else policy["arterial_test_days"]


def test_age_days(scene: Scene) -> int | None:
    """Age of the arterial test [days]; None without one or without its day.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    int or None

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> answers = {"arms.left_mmhg": 120, "leg.arterial.toe_mmhg": 90,
    ...            "leg.arterial.measured_on": "2026-11-15"}
    >>> scene = Scene.where(answers, shipped_policy())
    >>> test_age_days(scene)  # on 25 November
    10
    """
    on = scene.leg.arterial.measured_on
    return (scene.case.today - on).days if _tested(scene) and on is not None else None


def test_due(scene: Scene) -> bool:
    """Whether the arterial test is due again, by its age or because the leg is worse.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    bool
        False without a test: that is another rule's question.

    References
    ----------
    RNAO (six-monthly); the rest of the policy's days is from memory or our choice.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> answers = {"arms.left_mmhg": 120, "leg.arterial.toe_mmhg": 90,
    ...            "leg.arterial.measured_on": "2026-11-15"}
    >>> scene = Scene.where(answers, shipped_policy())
    >>> test_due(scene)
    False
    """
    days = test_age_days(scene)
    if days is None:
        return False
    worse = bool(scene.leg.findings.worse)
    return days > interval_days(scene) or (
        worse and days > scene.policy["arterial_after_change_days"]
    )


def _keeps_level(scene: Scene) -> bool:
    """An overdue test keeps what a stable leg tolerated, but not for ever."""
    days = test_age_days(scene)
    return (
        scene.leg.findings.worse is False
        and scene.leg.tolerated_mmhg is not None
        and days is not None
        and days <= scene.policy["arterial_outer_days"]
    )


def _overdue(scene: Scene) -> Fields | None:
    days, outer = test_age_days(scene), scene.policy["arterial_outer_days"]
    if days is None or not test_due(scene) or _keeps_level(scene):
        return None
    why = Said("no level that a stable leg tolerated is on record")
    if scene.leg.findings.worse:
        why = Said("the leg is worse since the last visit")
    elif days > outer:
        why = Said("after {outer:g} days no level is kept", {"outer": outer})
    return {"days": days, "limit": interval_days(scene), "why": why}


def _overdue_stable(scene: Scene) -> Fields | None:
    days, tolerated = test_age_days(scene), scene.leg.tolerated_mmhg
    if days is None or tolerated is None or not test_due(scene) or not _keeps_level(scene):
        return None
    return {"days": days, "limit": interval_days(scene), "cap": tolerated}


def _sitting(scene: Scene) -> Fields | None:
    return FIRES if _tested(scene) and scene.leg.arterial.lying_flat is False else None


def _posture_unknown(scene: Scene) -> Fields | None:
    return FIRES if _tested(scene) and scene.leg.arterial.lying_flat is None else None


def _short_rest(scene: Scene) -> Fields | None:
    rested, limit = scene.leg.arterial.rested_min, scene.policy["rest_min"]
    if rested is None or rested >= limit:
        return None
    return {"rested": rested, "limit": limit}


RULES = (
    Rule(
        "foot_wound_untested", Subject.ARTERIES, RuleKind.FIRST,
        "Wound on the foot and arteries not tested: no compression until they are.",
        "Wounds UK quick guide, immediate and necessary care", GUIDELINE,
        when=_foot_wound_untested, reads=(*ARMS, *ANKLES, "leg.findings.wound"),
    ),
    Rule(
        "arterial_missing", Subject.ARTERIES, RuleKind.FIRST,
        "No ABI (ABPI): measure {missing} pressure.",
        "Wounds UK quick guide, immediate and necessary care", GUIDELINE,
        when=_missing, reads=(*ARMS, *ANKLES), provisional=True,
    ),
    Rule(
        "ankle_missing", Subject.ARTERIES, RuleKind.CAP,
        "Only the toe was measured: at most {cap:g} mmHg until the ankle is measured as well.",
        OURS, CHOICE,
        when=_ankle_missing, reads=ANKLES,
    ),
    Rule(
        "one_ankle_artery", Subject.ARTERIES, RuleKind.CAP,
        "Only one ankle artery was measured: at most {cap:g} mmHg until the {other} artery is "
        "measured, or a toe pressure shows good arteries.",
        "SVS and laboratory criteria measure both; the cap is our choice", CHOICE,
        when=_one_ankle_artery, reads=(*ANKLES, TOE),
    ),
    Rule(
        "kilopascal", Subject.ARTERIES, RuleKind.FIRST,
        "The {places} pressure looks like kilopascals: give it in mmHg (1 kPa is 7.5 mmHg). If it "
        "really is mmHg, the leg is in danger: vascular team today.",
        "conversion, NIST SP 811; which values are questioned is our choice", CHOICE,
        when=_kilopascal, reads=(*ANKLES, TOE, OXYGEN),
    ),
    Rule(
        "arm_and_ankle_exchanged", Subject.ARTERIES, RuleKind.FIRST,
        "Arm {arm:g} and ankle {ankle:g} mmHg look exchanged: correct them, or measure again.",
        OURS, CHOICE,
        when=_exchanged, reads=(*ARMS, *ANKLES),
    ),
    Rule(
        "arm_implausible", Subject.ARTERIES, RuleKind.FIRST,
        "Arm pressure {arm:g} mmHg is {limit:g} or below: measure again; if it is so, the person "
        "needs help before a bandage.",
        OURS, CHOICE,
        when=_arm_impossible, reads=ARMS,
    ),
    Rule(
        "arm_low", Subject.ARTERIES, RuleKind.CAUTION,
        "Arm pressure {arm:g} mmHg is below {limit:g}: the index flatters the leg; the ankle's own "
        "pressure limits the bandage. Ask why it is low.",
        OURS, CHOICE,
        when=_arm_low, reads=ARMS,
    ),
    Rule(
        "one_arm", Subject.ARTERIES, RuleKind.FIRST,
        "Only one arm was measured: measure the other, which may be higher, or say that it cannot "
        "be measured.",
        "restated (the other arm is used where one cannot be, and it is said)", SECOND_HAND,
        when=_one_arm, reads=(*ARMS, _UNUSABLE), provisional=True,
    ),
    Rule(
        "one_arm_only", Subject.ARTERIES, RuleKind.FLAG,
        "The {arm} arm cannot be measured: the index may read too high if that arm is higher.",
        "restated", SECOND_HAND,
        when=_one_arm_only, reads=(_UNUSABLE,),
    ),
    Rule(
        "arms_differ", Subject.ARTERIES, RuleKind.FLAG,
        "The arms differ by {difference:g} mmHg (limit {limit:g}): repeat; an arm artery may be "
        "narrow. The higher arm is used.",
        "restated; repeat rule of Aboyans 2012", SECOND_HAND,
        when=_arms_differ, reads=ARMS,
    ),
    Rule(
        "arterial_date_missing", Subject.ARTERIES, RuleKind.FIRST,
        "The date of the arterial test has not been said: give it, or measure again.",
        _RNAO, GUIDELINE,
        when=_date_missing, reads=(_DATE,), provisional=True,
    ),
    Rule(
        "arterial_overdue", Subject.ARTERIES, RuleKind.FIRST,
        "The arterial test is {days} days old (limit {limit:g}): repeat it, because {why}.",
        f"{_RNAO}; three-monthly on treatment and at once on deterioration: from memory; the outer "
        "age is our choice", GUIDELINE,
        when=_overdue, needs=(_WORSE,), reads=(_DATE,), provisional=True, carry=Carry.DAY,
        one_press=True,
    ),
    Rule(
        "arterial_overdue_stable", Subject.ARTERIES, RuleKind.CAP,
        "The arterial test is {days} days old (limit {limit:g}): repeat it. The leg is stable: "
        "the {cap:.0f} mmHg that were applied and tolerated may go on meanwhile.",
        f"{_RNAO}; keeping what was tolerated is our choice", GUIDELINE,
        when=_overdue_stable, reads=(_DATE, _WORSE), carry=Carry.DAY,
    ),
    Rule(
        "not_lying_flat", Subject.ARTERIES, RuleKind.FIRST,
        "Measured not lying flat, which reads falsely high: measure again lying flat.",
        "Anderson 2006, restated", SECOND_HAND,
        when=_sitting, reads=(_FLAT,), provisional=True,
    ),
    Rule(
        "lying_flat_not_said", Subject.ARTERIES, RuleKind.FIRST,
        "Whether the person lay flat for the arterial test has not been said: say it, or measure "
        "again lying flat.",
        "Anderson 2006, restated", SECOND_HAND,
        when=_posture_unknown, reads=(_FLAT,), provisional=True,
    ),
    Rule(
        "short_rest", Subject.ARTERIES, RuleKind.FLAG,
        "Rested {rested:g} minutes before the arterial test (wanted {limit:g}): repeat if in "
        "doubt.",
        "5 to 20 minutes in different protocols", "protocols disagree",
        when=_short_rest, reads=(_RESTED,),
    ),
)  # fmt: skip
