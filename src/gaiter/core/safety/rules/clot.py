"""A clot in the deep veins, and inflamed veins."""

from collections.abc import Mapping

from gaiter.core.case import ClotSigns, ClotState, LegSign
from gaiter.core.safety.clot_score import (
    LIKELY_FROM,
    clot_score,
    counting_signs,
    most_possible,
    on_the_leg,
    unchanged_since,
)
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    FIRES,
    GP,
    GUIDELINE,
    MEMORY,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
    finding,
)
from gaiter.core.words import SEMICOLON, Said, Several, Value

_STATE = "leg.findings.clot.state"
_SIGNS = "leg.findings.clot.signs."
_ON_THE_LEG = tuple(f"{_SIGNS}{sign}" for sign in LegSign)
_RISKS = tuple(
    f"{_SIGNS}{name}"
    for name in ClotSigns.model_fields
    if name not in {sign.value for sign in LegSign}
)

_WELLS = "Wells et al. 2003, NEJM 349:1227 (two-level score)"
_LIMITS: Mapping[bool, Value] = {
    True: Said(" In pregnancy the score was not tested and says less."),
    False: "",
}


def _counting(scene: Scene) -> ClotSigns:
    return counting_signs(scene.leg.findings.clot, scene.case.today, scene.policy["clot_sign_days"])


def _likely(scene: Scene) -> bool:
    signs = _counting(scene)
    return on_the_leg(signs) and clot_score(signs) >= LIKELY_FROM


def _score(scene: Scene) -> Fields:
    return {
        "score": clot_score(_counting(scene)),
        "limits": _LIMITS[bool(scene.case.person.pregnancy)],
    }


def _state(scene: Scene) -> ClotState | None:
    return scene.leg.findings.clot.state


def _suspected(scene: Scene) -> Fields | None:
    return _score(scene) if _state(scene) is ClotState.SUSPECTED else None


def _signs_likely(scene: Scene) -> Fields | None:
    """Signs count in every state but a confirmed clot, whose own they are."""
    spoken_of = (ClotState.SUSPECTED, ClotState.CONFIRMED, ClotState.TREATED)
    return _score(scene) if _state(scene) not in spoken_of and _likely(scene) else None


def _again(scene: Scene) -> Fields | None:
    treated = _state(scene) is ClotState.TREATED
    return _score(scene) if treated and on_the_leg(_counting(scene)) else None


def _untreated(scene: Scene) -> Fields | None:
    clot = scene.leg.findings.clot
    return FIRES if clot.state is ClotState.CONFIRMED and not clot.anticoagulated else None


def _treated_acute(scene: Scene) -> Fields | None:
    clot = scene.leg.findings.clot
    return FIRES if clot.state is ClotState.CONFIRMED and clot.anticoagulated else None


def _past(scene: Scene) -> Fields | None:
    return FIRES if _state(scene) is ClotState.TREATED else None


def _incomplete(scene: Scene) -> Fields | None:
    """One more answer could make a clot likely: the rest of the score has to be asked."""
    signs = _counting(scene)
    could_be = clot_score(most_possible(signs)) >= LIKELY_FROM
    return FIRES if on_the_leg(signs) and not _likely(scene) and could_be else None


def _some_signs(scene: Scene) -> Fields | None:
    signs = _counting(scene)
    some = on_the_leg(signs) and not _likely(scene) and _state(scene) is not ClotState.TREATED
    return _score(scene) if some else None


def _old_signs(scene: Scene) -> Fields | None:
    counting = _counting(scene)
    old = [
        Said(
            "{sign} since {day}",
            {"sign": Said(sign.value.replace("_", " ")), "day": day.isoformat()},
        )
        for sign, day in unchanged_since(scene.leg.findings.clot).items()
        if not getattr(counting, sign.value)
    ]
    return {"what": Several(tuple(old), SEMICOLON)} if old else None


RULES = (
    Rule(
        "clot_suspected", Subject.CLOT, RuleKind.HARD_STOP,
        "A clot is suspected (score {score}): no compression, and no cuff on this leg, until it "
        "is ruled out or treated.{limits}",
        f"{GP}; Scottish Doppler procedure (no cuff)", GUIDELINE,
        when=_suspected, needs=(_STATE,), danger="clot suspected", refer=Refer.CLOT,
        red_flag=True, one_press=True,
    ),
    Rule(
        "clot_likely", Subject.CLOT, RuleKind.HARD_STOP,
        "The signs make a clot likely (score {score}, two or more): no compression, and no cuff on "
        "this leg, until it is ruled out or treated.{limits}",
        _WELLS, GUIDELINE,
        when=_signs_likely, needs=_ON_THE_LEG, reads=_RISKS, danger="clot likely",
        refer=Refer.CLOT, red_flag=True, one_press=True,
        disagreement="Swelling of both legs and venous disease weaken the score's signs of "
        "swelling and the other diagnosis.",
    ),
    Rule(
        "clot_again", Subject.CLOT, RuleKind.HARD_STOP,
        "New or worse signs after a treated clot (score {score}): think of another one. No "
        "compression, and no cuff on this leg, until it is ruled out.{limits}",
        f"{_WELLS}; {GP}", GUIDELINE,
        when=_again, needs=_ON_THE_LEG, danger="clot again?", refer=Refer.CLOT, red_flag=True,
        one_press=True,
    ),
    Rule(
        "clot_untreated", Subject.CLOT, RuleKind.HARD_STOP,
        "A clot is confirmed and not anticoagulated: no compression; treat it first.",
        GP, GUIDELINE,
        when=_untreated, needs=(_STATE,), reads=("leg.findings.clot.anticoagulated",),
        danger="clot confirmed", refer=Refer.CLOT, red_flag=True, one_press=True,
    ),
    Rule(
        "clot_treated_acute", Subject.CLOT, RuleKind.SOFT_STOP,
        "A clot is confirmed and anticoagulated: allowed by some guidelines; the prescriber "
        "decides.",
        "IDEAL substudy, Blood 2018;132:2298 (592 people, early compression)", "trial",
        when=_treated_acute, needs=(_STATE,), reads=("leg.findings.clot.anticoagulated",),
        danger="clot confirmed", refer=Refer.PRESCRIBER, red_flag=True, one_press=True,
        disagreement="One UK page forbids compression with a clot; IDEAL offers it early; ASH "
        "2020 is against routine stockings; AHA allows it for swelling.",
    ),
    Rule(
        "clot_score_incomplete", Subject.CLOT, RuleKind.FIRST,
        "A sign of a clot on this leg: answer the rest of the clot score, it decides.",
        _WELLS, GUIDELINE,
        when=_incomplete, reads=(*_ON_THE_LEG, *_RISKS),
    ),
    Rule(
        "clot_signs", Subject.CLOT, RuleKind.CAUTION,
        "Signs of a clot, not enough to make one likely (score {score}): blood test or ultrasound "
        "by local policy, and look again at the next visit.{limits}",
        _WELLS, GUIDELINE,
        when=_some_signs, reads=(*_ON_THE_LEG, *_RISKS),
    ),
    Rule(
        "clot_signs_old", Subject.CLOT, RuleKind.FLAG,
        "Old, unchanged, not counted for a clot: {what}.",
        "a sign counts when it is new or worse within four weeks, or of unknown age", "our choice",
        when=_old_signs, reads=tuple(f"leg.findings.clot.old_signs.{s}" for s in LegSign),
    ),
    Rule(
        "clot_past", Subject.CLOT, RuleKind.CAUTION,
        "A clot was treated in this leg: watch for new swelling and pain.",
        "SVS/AVF 2014 (30-40 mmHg after a clot, grade 1B)", GUIDELINE,
        when=_past, reads=(_STATE,),
    ),
    Rule(
        "superficial_phlebitis", Subject.CLOT, RuleKind.SOFT_STOP,
        "Active superficial phlebitis: no compression unless the prescriber treats it so.",
        GP, GUIDELINE,
        when=finding("superficial_phlebitis"), needs=("leg.findings.superficial_phlebitis",),
        danger="superficial phlebitis", refer=Refer.PRESCRIBER, red_flag=True, one_press=True,
        disagreement="One UK page forbids it; European vein guidelines treat it with compression "
        "(from memory).",
    ),
    Rule(
        "septic_phlebitis", Subject.CLOT, RuleKind.HARD_STOP,
        "Septic phlebitis: emergency. No compression.",
        "German S2k guideline 2018", MEMORY,
        when=finding("septic_phlebitis"), needs=("leg.findings.septic_phlebitis",),
        danger="septic phlebitis", refer=Refer.EMERGENCY, red_flag=True, one_press=True,
    ),
    Rule(
        "massive_blue_swelling", Subject.CLOT, RuleKind.HARD_STOP,
        "Massive, blue, painful swelling (phlegmasia): emergency. No compression.",
        "German S2k guideline 2018", MEMORY,
        when=finding("massive_blue_swelling"), needs=("leg.findings.massive_blue_swelling",),
        danger="massive blue swelling", refer=Refer.EMERGENCY, red_flag=True, one_press=True,
    ),
)  # fmt: skip
