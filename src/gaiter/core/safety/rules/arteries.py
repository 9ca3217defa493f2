"""What pressures and indices of one leg allow.

At a limit the raw and the rounded index are both judged and the worse class holds: 0.595 is
below 0.60, and 0.904 is not above 0.90.
"""

from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    CHOICE,
    CONSENSUS,
    GUIDELINE,
    MEMORY,
    OURS,
    RABE,
    Carry,
    Effect,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
)
from gaiter.core.words import AND, Said, Several

DP, PT = "leg.arterial.dorsalis_pedis_mmhg", "leg.arterial.posterior_tibial_mmhg"
ANKLES = (DP, PT)
TOE, OXYGEN = "leg.arterial.toe_mmhg", "leg.arterial.tcpo2_mmhg"
ARMS = ("arms.left_mmhg", "arms.right_mmhg")
_MISLEADS = {
    "person.diabetes": Said("with diabetes"),
    "person.kidney_disease": Said("with kidney disease"),
    "person.rheumatoid_arthritis": Said("with rheumatoid arthritis"),
    "leg.findings.claudication": Said("with calf pain on walking"),
}
_INELASTIC = frozenset({Effect.INELASTIC})
_ONLY_INELASTIC = frozenset({Effect.INELASTIC, Effect.INELASTIC_ONLY})
_QUESTIONS = frozenset({Effect.QUESTIONS_LEVEL})


def compressible(numbers: ArterialNumbers, stiff_above: float, never_above: float) -> bool:
    """Whether an ankle pressure means anything: not of arteries that the cuff cannot close.

    Parameters
    ----------
    numbers : ArterialNumbers
        The leg's.
    stiff_above, never_above : float
        Index above which the ankle counts only beside a toe pressure, and never.

    Returns
    -------
    bool
        False without an index.

    References
    ----------
    ACC/AHA 2016 and 2024 (above 1.40 the ankle cannot be compressed); leg-ulcer review 2013 and
    NICE CKS, restated (above 1.3 may be calcified).

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> answers = {"arms.left_mmhg": 120, "leg.arterial.posterior_tibial_mmhg": 100}
    >>> numbers = Scene.where(answers, shipped_policy()).numbers
    >>> compressible(numbers, 1.3, 1.4), compressible(numbers, 0.8, 1.4)  # 100/120 = 0.83
    (True, False)
    """
    index = numbers.worst_high_index
    if index is None or index > never_above:
        return False
    return index <= stiff_above or numbers.toe_mmhg is not None


def ankle_allows_mmhg(scene: Scene) -> float | None:
    """Pressure that the ankle's own leaves [mmHg]; None where it says nothing.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    float or None

    Notes
    -----
    No published limit for one leg was found; the margin is our choice.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> answers = {"arms.left_mmhg": 120, "leg.arterial.posterior_tibial_mmhg": 100}
    >>> scene = Scene.where(answers, shipped_policy())
    >>> scene.numbers.ankle_mmhg - ankle_allows_mmhg(scene) == shipped_policy()["ankle_margin_mmhg"]
    True
    """
    policy, numbers = scene.policy, scene.numbers
    counts = compressible(
        numbers, policy["ankle_brachial_stiff_above"], policy["ankle_brachial_stiff_always_above"]
    )
    if numbers.ankle_mmhg is None or not counts:
        return None
    return numbers.ankle_mmhg - policy["ankle_margin_mmhg"]


def arterial_bound_mmhg(scene: Scene) -> float | None:
    """What the lowest measured pressure allows anywhere under the bandage [mmHg].

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    float or None
        None where neither ankle nor toe says anything.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> scene = Scene.where({"leg.arterial.toe_mmhg": 45}, shipped_policy())
    >>> arterial_bound_mmhg(scene)
    45.0
    """
    known = [p for p in (ankle_allows_mmhg(scene), scene.numbers.toe_mmhg) if p is not None]
    return min(known) if known else None


def toe_is_normal(scene: Scene) -> bool:
    """Whether a toe pressure shows good arteries whatever the ankle says.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    bool

    References
    ----------
    ACC/AHA 2016 and 2024 (0.70; from memory, not verified); TASC, in Medicina 2024;60:1179, table 2
    (30-50 mmHg is critical with tissue loss).

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> answers = {"arms.left_mmhg": 120, "leg.arterial.toe_mmhg": 96}
    >>> scene = Scene.where(answers, shipped_policy())
    >>> toe_is_normal(scene)  # 96/120 = 0.80
    True
    """
    index, policy = scene.numbers.worst_low_toe_index, scene.policy
    return (
        index is not None
        and index > policy["toe_brachial_abnormal_to"]
        and scene.numbers.toe_mmhg is not None
        and scene.numbers.toe_mmhg > policy["toe_soft_stop_to_mmhg"]
    )


def _shown(index: float) -> str:
    """An index with two decimals, or three where the third decides.

    >>> _shown(0.8), _shown(0.595)
    ('0.80', '0.595')
    """
    three = f"{index:.3f}"
    return three.removesuffix("0") if three.endswith("0") else three


def _ankle_stop(scene: Scene) -> Fields | None:
    ankle, limit = scene.numbers.ankle_mmhg, scene.policy["ankle_stop_mmhg"]
    if ankle is None or ankle > limit or scene.numbers.in_kilopascal("ankle"):
        return None
    return {"pressure": ankle, "limit": limit}


def _toe_hard(scene: Scene) -> Fields | None:
    toe, limit = scene.numbers.toe_mmhg, scene.policy["toe_stop_below_mmhg"]
    if toe is None or toe >= limit or scene.numbers.in_kilopascal("toe"):
        return None
    return {"pressure": toe, "limit": limit}


def _toe_soft(scene: Scene) -> Fields | None:
    toe, policy = scene.numbers.toe_mmhg, scene.policy
    low, high = policy["toe_stop_below_mmhg"], policy["toe_soft_stop_to_mmhg"]
    return {"pressure": toe, "limit": high} if toe is not None and low <= toe <= high else None


def _oxygen_hard(scene: Scene) -> Fields | None:
    oxygen, limit = scene.numbers.tcpo2_mmhg, scene.policy["tcpo2_hard_stop_below_mmhg"]
    if oxygen is None or oxygen >= limit or scene.numbers.in_kilopascal("oxygen"):
        return None
    return {"pressure": oxygen, "limit": limit}


def _oxygen_soft(scene: Scene) -> Fields | None:
    oxygen, policy = scene.numbers.tcpo2_mmhg, scene.policy
    low, high = policy["tcpo2_hard_stop_below_mmhg"], policy["tcpo2_stop_below_mmhg"]
    if oxygen is None or not low <= oxygen < high:
        return None
    return {"pressure": oxygen, "limit": high}


def _index_hard(scene: Scene) -> Fields | None:
    index, limit = scene.numbers.worst_low_index, scene.policy["ankle_brachial_hard_stop"]
    if index is None or index > limit or scene.numbers.in_kilopascal("ankle"):
        return None
    return {"index": _shown(index), "limit": limit}


def _index_soft(scene: Scene) -> Fields | None:
    index, policy = scene.numbers.worst_low_index, scene.policy
    low, high = policy["ankle_brachial_hard_stop"], policy["ankle_brachial_stop_below"]
    between = index is not None and low < index < high
    return {"index": _shown(index), "limit": high} if between and index is not None else None


def _vascular_decision(scene: Scene) -> tuple[str, ...]:
    """What the narrow room between the guidelines asks before anybody compresses in it."""
    missing, tested = [], scene.leg.arterial.measured_on
    written = next((o for o in scene.leg.overrides if o.code == "ankle_brachial_stop"), None)
    if written is None or not (written.vascular_by and written.vascular_on):
        missing.append("the vascular specialist who decided, by name, and the day")
    elif written.vascular_on > scene.case.today:
        missing.append("a day of the vascular decision that is not to come")
    elif tested is not None and written.vascular_on < tested:
        missing.append("a vascular decision made since the arterial test it rests on")
    if scene.numbers.toe_mmhg is None:
        missing.append("a toe pressure of at least 30 mmHg")
    return tuple(missing)


def _index_reduced(scene: Scene) -> Fields | None:
    index, policy = scene.numbers.worst_low_index, scene.policy
    low, high = policy["ankle_brachial_stop_below"], policy["ankle_brachial_full_from"]
    if index is None or not low <= index < high:
        return None
    return {"index": _shown(index), "cap": policy["reduced_maximum_mmhg"]}


def _index_refer(scene: Scene) -> Fields | None:
    index, policy = scene.numbers.worst_low_index, scene.policy
    low, high = policy["ankle_brachial_full_from"], policy["ankle_brachial_refer_to"]
    return {"index": _shown(index)} if index is not None and low <= index <= high else None


def _index_high_normal(scene: Scene) -> Fields | None:
    index, policy = scene.numbers.worst_high_index, scene.policy
    low, high = policy["ankle_brachial_disputed_above"], policy["ankle_brachial_stiff_above"]
    return {"index": _shown(index)} if index is not None and low < index <= high else None


def small_vessels_tested(scene: Scene) -> bool:
    """Whether a toe pressure, or oxygen at the skin where no toe is left, stands beside the ankle.

    Toe pressure or oxygen at the skin: Mills et al. 2014, J Vasc Surg 59:220 (WIfI).

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    bool

    References
    ----------
    Mills et al. 2014, J Vasc Surg 59:220 (WIfI).

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> scene = Scene.where({"leg.arterial.tcpo2_mmhg": 45}, shipped_policy())
    >>> small_vessels_tested(scene)  # with toes, oxygen at the skin does not stand in
    False
    """
    no_toe = bool(scene.leg.findings.forefoot_amputation)
    by_oxygen = no_toe and scene.numbers.tcpo2_mmhg is not None
    return scene.numbers.toe_brachial is not None or by_oxygen


def what_to_measure(scene: Scene) -> Said:
    """The test of the small vessels that this foot allows.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    Said

    References
    ----------
    Mills et al. 2014, J Vasc Surg 59:220 (WIfI: toe pressure or oxygen at the skin).

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> answers = {"leg.findings.forefoot_amputation": True}
    >>> scene = Scene.where(answers, shipped_policy())
    >>> what_to_measure(scene).text
    'oxygen at the skin, there is no toe'
    """
    no_toe = scene.leg.findings.forefoot_amputation
    return Said("oxygen at the skin, there is no toe" if no_toe else "toe pressure")


def _misleading(scene: Scene) -> list[Said]:
    """Why the ankle's pressure may be falsely high, in words."""
    person, findings, numbers = scene.case.person, scene.leg.findings, scene.numbers
    said = {
        "person.diabetes": person.diabetes,
        "person.kidney_disease": person.kidney_disease,
        "person.rheumatoid_arthritis": person.rheumatoid_arthritis,
        "leg.findings.claudication": findings.claudication,
    }
    because = [words for path, words in _MISLEADS.items() if said[path]]
    high = numbers.worst_high_index
    if high is not None and high > scene.policy["ankle_brachial_stiff_above"]:
        because.insert(0, Said("the ABI (ABPI) is {index}", {"index": _shown(high)}))
    return because


def _toe_needed(scene: Scene) -> Fields | None:
    """The ankle's pressure may be falsely high, and no toe pressure stands beside it."""
    if small_vessels_tested(scene) or scene.numbers.ankle_brachial is None:
        return None
    because = _misleading(scene)
    if not because:
        return None
    return {"because": Several(tuple(because), AND), "test": what_to_measure(scene)}


def _oxygen_for_toe(scene: Scene) -> Fields | None:
    """Only oxygen at the skin stands beside an ankle that may mislead."""
    by_oxygen = small_vessels_tested(scene) and scene.numbers.toe_brachial is None
    needed = scene.leg.wound_on_foot or bool(_misleading(scene))
    return {"cap": scene.policy["reduced_maximum_mmhg"]} if by_oxygen and needed else None


def _toe_for_foot_wound(scene: Scene) -> Fields | None:
    numbers = scene.numbers
    untested = numbers.ankle_brachial is None and numbers.toe_brachial is None
    needed = scene.leg.wound_on_foot and not small_vessels_tested(scene) and not untested
    return {"test": what_to_measure(scene)} if needed else None


def _toe_index_reduced(scene: Scene) -> Fields | None:
    numbers, limit = scene.numbers, scene.policy["toe_brachial_abnormal_to"]
    index, shown = numbers.worst_low_toe_index, numbers.toe_brachial
    if index is None or shown is None or index > limit:
        return None
    return {"index": shown, "limit": limit, "cap": scene.policy["reduced_maximum_mmhg"]}


def _toe_index_unusual(scene: Scene) -> Fields | None:
    index, limit = scene.numbers.worst_high_toe_index, scene.policy["toe_brachial_unusual_above"]
    return {"index": index, "limit": limit} if index is not None and index > limit else None


def _toe_above_ankle(scene: Scene) -> Fields | None:
    ankle, toe = scene.numbers.ankle_mmhg, scene.numbers.toe_mmhg
    if ankle is None or toe is None or toe <= ankle:
        return None
    return {"toe": toe, "ankle": ankle}


def _far_apart(scene: Scene) -> Fields | None:
    test, limit = scene.leg.arterial, scene.policy["ankle_artery_difference_mmhg"]
    dorsal, tibial = test.dorsalis_pedis_mmhg, test.posterior_tibial_mmhg
    if dorsal is None or tibial is None or abs(dorsal - tibial) <= limit or toe_is_normal(scene):
        return None
    return {"dorsal": dorsal, "tibial": tibial, "cap": scene.policy["reduced_maximum_mmhg"]}


def _claudicates(scene: Scene) -> Fields | None:
    cap = scene.policy["reduced_maximum_mmhg"]
    return {"cap": cap} if scene.leg.findings.claudication else None


def _ankle_allows(scene: Scene) -> Fields | None:
    left, ankle = ankle_allows_mmhg(scene), scene.numbers.ankle_mmhg
    if left is None or ankle is None or left >= scene.policy["full_maximum_mmhg"]:
        return None
    margin = scene.policy["ankle_margin_mmhg"]
    return {"cap": max(left, 0.0), "ankle": ankle, "margin": margin}


def _toe_allows(scene: Scene) -> Fields | None:
    toe = scene.numbers.toe_mmhg
    return {"cap": toe} if toe is not None and toe < scene.policy["full_maximum_mmhg"] else None


RULES = (
    Rule(
        "ankle_pressure", Subject.ARTERIES, RuleKind.HARD_STOP,
        "Ankle pressure {pressure:g} mmHg is {limit:g} or below: no compression; urgent vascular "
        "referral.",
        "SVS/AVF 2014 and Rabe 2020 (below 60)", GUIDELINE,
        when=_ankle_stop, reads=ANKLES, danger="ankle pressure very low", refer=Refer.VASCULAR,
        disagreement="Exactly 60 mmHg: SVS and Rabe block below 60, Mosti asks for above 60. Here "
        "it blocks.",
    ),
    Rule(
        "toe_pressure", Subject.ARTERIES, RuleKind.HARD_STOP,
        "Toe pressure {pressure:g} mmHg is below {limit:g}: no compression; urgent vascular "
        "referral.",
        RABE, CONSENSUS,
        when=_toe_hard, reads=(TOE,), danger="toe pressure very low", refer=Refer.VASCULAR,
    ),
    Rule(
        "toe_pressure_low", Subject.ARTERIES, RuleKind.SOFT_STOP,
        "Toe pressure {pressure:g} mmHg, 30 to {limit:g}: no compression; vascular referral. Set "
        "aside it is reduced and inelastic, and never above the toe's own pressure.",
        "TASC (toe 30-50 mmHg is critical with tissue loss); the stop is our choice", CHOICE,
        when=_toe_soft, reads=(TOE,), danger="toe pressure low", refer=Refer.VASCULAR,
        effects=_ONLY_INELASTIC,
        disagreement="Rabe 2020 blocks below 30 mmHg only; WIfI calls 30-39 mmHg severe and 40-59 "
        "moderate ischaemia.",
    ),
    Rule(
        "tcpo2_hard", Subject.ARTERIES, RuleKind.HARD_STOP,
        "Oxygen at the skin {pressure:g} mmHg is below {limit:g}: no compression; urgent vascular "
        "referral.",
        RABE, CONSENSUS,
        when=_oxygen_hard, reads=(OXYGEN,), danger="oxygen at the skin very low",
        refer=Refer.VASCULAR,
    ),
    Rule(
        "tcpo2_stop", Subject.ARTERIES, RuleKind.SOFT_STOP,
        "Oxygen at the skin {pressure:g} mmHg is below {limit:g}: no compression; refer.",
        "limb-ischaemia guidelines 2016-2024 (Medicina 2024;60:1179)", GUIDELINE,
        when=_oxygen_soft, reads=(OXYGEN,), danger="oxygen at the skin low",
        refer=Refer.VASCULAR, effects=_INELASTIC,
        disagreement="20-29 mmHg: Rabe 2020 allows compression; limb-ischaemia guidelines call it "
        "ischaemic.",
    ),
    Rule(
        "ankle_brachial_hard", Subject.ARTERIES, RuleKind.HARD_STOP,
        "ABI (ABPI) {index} is {limit:.2f} or below: no compression; urgent vascular referral.",
        "SVS/AVF 2014 (≤0.50); Mosti et al. 2012; NICE CKS (below 0.5)", GUIDELINE,
        when=_index_hard, reads=(*ARMS, *ANKLES), danger="ABI very low", refer=Refer.VASCULAR,
        disagreement="Exactly 0.50: SVS/AVF blocks, NICE writes below 0.5. Here it blocks.",
    ),
    Rule(
        "ankle_brachial_stop", Subject.ARTERIES, RuleKind.SOFT_STOP,
        "ABI (ABPI) {index} is below {limit:.2f}: no compression. Only a named vascular "
        "decision can allow inelastic, reduced compression here, with ankle above 60 and toe at "
        "least 30 mmHg.",
        RABE, CONSENSUS,
        when=_index_soft, reads=(*ARMS, *ANKLES), danger="ABI low", refer=Refer.VASCULAR,
        effects=_ONLY_INELASTIC, before_set_aside=_vascular_decision,
        disagreement="0.50-0.59: SVS/AVF, Mosti and the German guideline see room for it; Rabe, "
        "ESVS and NHS Tayside do not.",
    ),
    Rule(
        "ankle_brachial_reduced", Subject.ARTERIES, RuleKind.CAP,
        "ABI (ABPI) {index}: reduced, inelastic compression with a specialist, at most "
        "{cap:g} mmHg; see the leg again within 48 hours.",
        "Mosti et al. 2012, J Vasc Surg 55:122 (inelastic up to 40 mmHg)", "one study",
        when=_index_reduced, reads=(*ARMS, *ANKLES), effects=_INELASTIC,
        disagreement="0.60-0.79 is disputed: some guidelines reduce to 20-30 mmHg, some forbid it "
        "(Weller 2019, Team 2019); a UK general-practice page forbids it below 0.8.",
    ),
    Rule(
        "ankle_brachial_refer", Subject.ARTERIES, RuleKind.FLAG,
        "ABI (ABPI) {index}: full compression is allowed, and it is arterial disease: refer "
        "to the vascular team.",
        "ACC/AHA 2024 and SVS/AVF 2014 (0.90 or below)", GUIDELINE,
        when=_index_refer, reads=(*ARMS, *ANKLES), effects=_QUESTIONS,
        disagreement="Compression guidelines count above 0.8 as full; arterial guidelines call "
        "0.90 and below abnormal.",
    ),
    Rule(
        "ankle_brachial_high_normal", Subject.ARTERIES, RuleKind.FLAG,
        "ABI (ABPI) {index}: think of stiff arteries.",
        "RNAO (refer above 1.2)", GUIDELINE,
        when=_index_high_normal, reads=(*ARMS, *ANKLES),
        disagreement="The upper end of normal is 1.2, 1.3 or 1.4, depending on the guideline.",
    ),
    Rule(
        "toe_needed", Subject.ARTERIES, RuleKind.FIRST,
        "Measure the {test}: {because} the ankle pressure may be falsely high.",
        "ACC/AHA 2024 (toe pressure when the index is not to be trusted); NICE CKS; rheumatoid "
        "arthritis and calf pain on walking: NICE CKS restated and ACC/AHA 2024", GUIDELINE,
        when=_toe_needed, needs=tuple(_MISLEADS), reads=(TOE, *ANKLES), effects=_QUESTIONS,
        provisional=True, one_press=True, carry=Carry.STAYS,
    ),
    Rule(
        "toe_for_foot_wound", Subject.ARTERIES, RuleKind.FIRST,
        "Wound on the foot: measure the {test}, before anything is compressed.",
        "IWGDF 2019 (a normal index does not rule out poor arteries of the foot)", GUIDELINE,
        when=_toe_for_foot_wound, reads=(TOE, "leg.findings.wound", "leg.wound.place"),
        effects=_QUESTIONS, carry=Carry.STAYS,
    ),
    Rule(
        "oxygen_for_toe", Subject.ARTERIES, RuleKind.CAP,
        "No toe is left, and oxygen at the skin stands in for its pressure: at most {cap:g} mmHg, "
        "inelastic.",
        "Mills et al. 2014, J Vasc Surg 59:220 (toe pressure or oxygen at the skin); the cap is "
        "our choice", GUIDELINE,
        when=_oxygen_for_toe, reads=(OXYGEN, "leg.findings.forefoot_amputation"),
        effects=_INELASTIC, carry=Carry.STAYS,
    ),
    Rule(
        "toe_brachial_unusual", Subject.ARTERIES, RuleKind.FIRST,
        "Toe index {index:.2f} is above {limit:.2f}, more than healthy adults have: a number is "
        "wrong, or the toe's arteries are stiff. Measure arm and toe again.",
        "J Vasc Surg 2016;63:652 (healthy adults 0.95, SD 0.21)", "one study; our choice of two SD",
        when=_toe_index_unusual, reads=(*ARMS, TOE), effects=_QUESTIONS, provisional=True,
    ),
    Rule(
        "toe_above_ankle", Subject.ARTERIES, RuleKind.FIRST,
        "The toe's pressure, {toe:g} mmHg, is above the ankle's, {ankle:g} mmHg: a number is "
        "wrong. Measure both again.",
        OURS, CHOICE,
        when=_toe_above_ankle, reads=(TOE, *ANKLES), effects=_QUESTIONS, provisional=True,
    ),
    Rule(
        "toe_brachial_reduced", Subject.ARTERIES, RuleKind.CAP,
        "Toe index {index:.2f} is {limit:.2f} or below: reduced, inelastic compression with a "
        "specialist, at most {cap:g} mmHg.",
        "ACC/AHA 2016 and 2024 (0.70)", MEMORY,
        when=_toe_index_reduced, reads=(*ARMS, TOE), effects=_INELASTIC,
        disagreement="No guideline gives a compression level for a toe index; the reduced level "
        "is our choice.",
    ),
    Rule(
        "ankle_arteries_apart", Subject.ARTERIES, RuleKind.CAP,
        "The two ankle arteries differ much, {dorsal:g} and {tibial:g} mmHg: one may be narrow or "
        "stiff. At most {cap:g} mmHg until a toe pressure shows good arteries; refer.",
        "Lange et al. 2007, BMC Public Health (the lower artery finds more disease); the limit is "
        "our choice", CHOICE,
        when=_far_apart, reads=(*ANKLES, TOE), effects=_INELASTIC,
    ),
    Rule(
        "claudication", Subject.ARTERIES, RuleKind.CAP,
        "Calf pain on walking that stops on standing still: arterial disease is likely whatever "
        "the index at rest says. Reduced, at most {cap:g} mmHg; refer for an index after exercise.",
        "ACC/AHA 2024 (exercise index with symptoms and an index above 0.90); the cap is our "
        "choice", GUIDELINE,
        when=_claudicates, reads=("leg.findings.claudication",), effects=_INELASTIC,
    ),
    Rule(
        "ankle_allows", Subject.ARTERIES, RuleKind.CAP,
        "Never above {cap:g} mmHg: the ankle's pressure, {ankle:g} mmHg, less {margin:g}.",
        "no published limit was found for one leg; our choice", CHOICE,
        when=_ankle_allows, reads=ANKLES,
    ),
    Rule(
        "toe_allows", Subject.ARTERIES, RuleKind.CAP,
        "Never above {cap:g} mmHg: the toe's own pressure.",
        "no published limit was found for one leg; our choice", CHOICE,
        when=_toe_allows, reads=(TOE,),
    ),
)  # fmt: skip
