"""What the record and local policy add."""

from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import Carry, Fields, Rule, Scene, Subject


def _tolerated(scene: Scene) -> Fields | None:
    level = scene.leg.tolerated_mmhg
    return None if level is None else {"level": level}


def _purpose_allows(scene: Scene) -> Fields | None:
    """Some purposes have no use for the full maximum: a sprain does not show 60."""
    purpose, full = scene.leg.purpose, scene.policy["full_maximum_mmhg"]
    most = scene.policy.targets[purpose].never_above_mmhg if purpose is not None else None
    return {"purpose": purpose, "cap": most} if most is not None and most < full else None


def _loosened(scene: Scene) -> Fields | None:
    changes = scene.policy.loosened
    return {"changes": "; ".join(changes)} if changes else None


RULES = (
    Rule(
        "purpose_allows", Subject.LOCAL, RuleKind.CAP,
        "Never above {cap:g} mmHg: {purpose} asks for no more.",
        "the purpose's target range and what is never exceeded for it, in the policy", "our choice",
        when=_purpose_allows, reads=("leg.purpose",), carry=Carry.STAYS,
    ),
    Rule(
        "tolerated", Subject.LOCAL, RuleKind.FLAG,
        "Applied and tolerated before: likely {level:.0f} mmHg at the gaiter.",
        "this record", "record",
        when=_tolerated,
    ),
    Rule(
        "policy_loosened", Subject.LOCAL, RuleKind.FLAG,
        "Local policy guards less here than the shipped one: {changes}.",
        "local policy", "local",
        when=_loosened, of_person=True,
    ),
)  # fmt: skip
