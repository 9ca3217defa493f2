"""Whether the foot feels: a leg that cannot feel harm cannot warn of it."""

from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    CONSENSUS,
    RABE,
    Carry,
    Effect,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
)
from gaiter.core.safety.rules.arteries import TOE, small_vessels_tested, what_to_measure

_SITES = "leg.findings.absent_monofilament_sites"
_DISAGREE = (
    "Rabe 2020 lists severe loss of feeling as a contraindication; the Australian guideline as a "
    "caution; the IWGDF calls one absent site a loss of protective sensation."
)


def _toe_is_good(scene: Scene) -> bool:
    toe = scene.numbers.toe_mmhg
    if toe is None:
        return small_vessels_tested(scene)  # low oxygen at the skin stops by itself
    return toe > scene.policy["toe_soft_stop_to_mmhg"]


def _lost(scene: Scene) -> Fields | None:
    sites = scene.leg.findings.absent_monofilament_sites
    if sites is None or sites < scene.policy["sensation_stop_sites"]:
        return None
    return {"sites": sites}


def _some(scene: Scene) -> int | None:
    """Absent sites too few to stop by themselves."""
    sites = scene.leg.findings.absent_monofilament_sites
    few = sites is not None and 0 < sites < scene.policy["sensation_stop_sites"]
    return sites if few else None


def _reduced(scene: Scene) -> Fields | None:
    sites = _some(scene)
    if sites is None or not _toe_is_good(scene):
        return None
    return {"sites": sites, "cap": scene.policy["reduced_maximum_mmhg"]}


def _needs_toe(scene: Scene) -> Fields | None:
    sites = _some(scene)
    if sites is None or _toe_is_good(scene):
        return None
    return {"sites": sites, "test": what_to_measure(scene)}


RULES = (
    Rule(
        "sensation_lost", Subject.NERVES, RuleKind.SOFT_STOP,
        "Protective feeling is lost ({sites} of 3 sites): no compression unless a specialist takes "
        "it on, with toe checks every day.",
        RABE, CONSENSUS,
        when=_lost, needs=(_SITES,), danger="no feeling in the foot", carry=Carry.STAYS,
        refer=Refer.FOOT, effects=frozenset({Effect.DAILY_LOOK}), disagreement=_DISAGREE,
    ),
    Rule(
        "sensation_reduced", Subject.NERVES, RuleKind.CAP,
        "Feeling is reduced ({sites} of 3 sites), the small vessels are good: at most {cap:g} "
        "mmHg, and somebody looks at the toes every day.",
        "IWGDF monofilament method; the cap is our choice", CONSENSUS,
        when=_reduced, needs=(_SITES,), reads=(TOE,), carry=Carry.STAYS,
        effects=frozenset({Effect.DAILY_LOOK}), disagreement=_DISAGREE,
    ),
    Rule(
        "sensation_needs_toe", Subject.NERVES, RuleKind.FIRST,
        "Feeling is reduced ({sites} of 3 sites): measure the {test}, before compressing.",
        "IWGDF monofilament method; the toe pressure first is our choice", CONSENSUS,
        when=_needs_toe, needs=(_SITES,), reads=(TOE,), carry=Carry.STAYS, disagreement=_DISAGREE,
    ),
)  # fmt: skip
