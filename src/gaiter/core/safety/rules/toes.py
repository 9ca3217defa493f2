"""The toes and the pain of today, before anything is put on."""

from gaiter.core.case import ToeColour
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    AUSTRALIA,
    CHOICE,
    GUIDELINE,
    IMMEDIATE,
    OURS,
    Carry,
    Effect,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
)
from gaiter.core.words import Said, Several, words

BAD_COLOURS = frozenset({ToeColour.PALER, ToeColour.WHITE, ToeColour.BLUER, ToeColour.GREYER})
_PATHS = tuple(
    f"leg.findings.toes.{name}" for name in ("colour", "refill", "warmth", "feeling", "movement")
)

_PAIN = "leg.findings.pain_now"


def bad_toes(scene: Scene) -> list[Said]:
    """What is wrong with the toes, in words; each one stops by itself.

    Parameters
    ----------
    scene : Scene
        The leg.

    Returns
    -------
    list of Said
        Empty where nothing was found or nobody looked.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> scene = Scene.where({"leg.findings.toes.warmth": "cold"}, shipped_policy())
    >>> [one.text for one in bad_toes(scene)]
    ['toes cold']
    """
    toes = scene.leg.findings.toes
    found = []
    if toes.colour in BAD_COLOURS:
        found.append(Said("toes {colour}", {"colour": Said(toes.colour.value)}))
    if toes.warmth == "cold":
        found.append(Said("toes cold"))
    if toes.feeling == "no toe":
        found.append(Said("no feeling in the toes"))
    if toes.movement == "no toe":
        found.append(Said("toes do not move"))
    return found


def _one_bad(scene: Scene) -> Fields | None:
    found = bad_toes(scene)
    return {"what": Several(tuple(found), capital=True)} if len(found) == 1 else None


def _several_bad(scene: Scene) -> Fields | None:
    found = bad_toes(scene)
    return {"what": Several(tuple(found), capital=True)} if len(found) > 1 else None


def _doubtful(scene: Scene) -> Fields | None:
    toes = scene.leg.findings.toes
    found = []
    if toes.refill == "slower":
        found.append("colour comes back slowly")
    if toes.warmth == "cool":
        found.append("toes cool")
    if toes.feeling == "some toes":
        found.append("touch is not felt on every toe")
    if toes.movement == "some toes":
        found.append("not every toe moves")
    if toes.colour is ToeColour.REDDER:
        found.append("toes redder than the other foot's")
    return {"what": words(found, capital=True)} if found else None


def _severe_pain(scene: Scene) -> Fields | None:
    pain, limit = scene.leg.findings.pain_now, scene.policy["pain_severe_from"]
    return {"pain": pain} if pain is not None and pain >= limit else None


def _some_pain(scene: Scene) -> Fields | None:
    pain, policy = scene.leg.findings.pain_now, scene.policy
    if pain is None or not policy["pain_bad_above"] < pain < policy["pain_severe_from"]:
        return None
    return {"pain": pain}


RULES = (
    Rule(
        "toes_failing", Subject.TOES, RuleKind.HARD_STOP,
        "{what}: the foot may be losing its blood. No compression; look again after ten minutes "
        "without a bandage; not better, it is a vascular emergency today.",
        IMMEDIATE, GUIDELINE,
        when=_several_bad, needs=_PATHS, danger="toes failing", carry=Carry.DAY,
        refer=Refer.EMERGENCY, red_flag=True,
    ),
    Rule(
        "toes_bad", Subject.TOES, RuleKind.SOFT_STOP,
        "{what} before bandaging: find out why before compressing.",
        AUSTRALIA, GUIDELINE,
        when=_one_bad, needs=_PATHS, danger="toes not right", carry=Carry.DAY,
        refer=Refer.VASCULAR, red_flag=True,
    ),
    Rule(
        "toes_doubtful", Subject.TOES, RuleKind.CAUTION,
        "{what}: keep it as the baseline, and look at the toes again after bandaging and every "
        "day.",
        OURS, CHOICE,
        when=_doubtful, reads=_PATHS, effects=frozenset({Effect.DAILY_LOOK}),
    ),
    Rule(
        "severe_pain", Subject.TOES, RuleKind.SOFT_STOP,
        "Pain {pain} of 10 before bandaging: relieve it and find its cause before compressing.",
        OURS, CHOICE,
        when=_severe_pain, needs=(_PAIN,), danger="severe pain", carry=Carry.DAY,
        refer=Refer.PRESCRIBER, red_flag=True,
    ),
    Rule(
        "some_pain", Subject.TOES, RuleKind.CAUTION,
        "Pain {pain} of 10 before bandaging: relief first; a lower start may be kept better.",
        OURS, CHOICE,
        when=_some_pain, reads=(_PAIN,),
    ),
)  # fmt: skip
