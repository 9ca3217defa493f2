"""Infection of the leg or the wound."""

from gaiter.core.case import Infection
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    AUSTRALIA,
    FIRES,
    GP,
    GUIDELINE,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
)
from gaiter.core.words import Said

_PATH = "leg.findings.infection"


def _spreading(scene: Scene) -> Fields | None:
    findings = scene.leg.findings
    if findings.infection is not Infection.SPREADING:
        return None
    started = Said(", antibiotics have been started")
    return {"antibiotics": started if findings.antibiotics_started else ""}


def _local(scene: Scene) -> Fields | None:
    return FIRES if scene.leg.findings.infection is Infection.LOCAL else None


RULES = (
    Rule(
        "infection_spreading", Subject.INFECTION, RuleKind.SOFT_STOP,
        "Spreading infection: treat it first{antibiotics}; compress when it recedes and pain "
        "allows.",
        GP, GUIDELINE,
        when=_spreading, needs=(_PATH,), reads=("leg.findings.antibiotics_started",),
        danger="spreading infection", refer=Refer.INFECTION, red_flag=True, one_press=True,
        disagreement="One UK page waits until it is resolved; the Australian guideline reduces or "
        "delays for pain; a textbook sees no contraindication.",
    ),
    Rule(
        "infection_local", Subject.INFECTION, RuleKind.CAUTION,
        "Local wound infection: change more often; reduce if it hurts.",
        AUSTRALIA, GUIDELINE,
        when=_local, reads=(_PATH,),
    ),
)  # fmt: skip
