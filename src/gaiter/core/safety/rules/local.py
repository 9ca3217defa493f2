"""What the record and local policy add."""

from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import Carry, Fields, Rule, Scene, Subject
from gaiter.core.words import SEMICOLON, Said, Several


def _tolerated(scene: Scene) -> Fields | None:
    level = scene.leg.tolerated_mmhg
    return None if level is None else {"level": level}


def _purpose_allows(scene: Scene) -> Fields | None:
    """Some purposes have no use for the full maximum: a sprain does not show 60."""
    purpose, full = scene.leg.purpose, scene.policy["full_maximum_mmhg"]
    if purpose is None:
        return None
    most = scene.policy.targets[purpose].never_above_mmhg
    if most is None or most >= full:
        return None
    return {"purpose": Said(purpose.value), "cap": most}


def _loosened(scene: Scene) -> Fields | None:
    changes = scene.policy.loosened
    return {"changes": Several(changes, SEMICOLON)} if changes else None


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
