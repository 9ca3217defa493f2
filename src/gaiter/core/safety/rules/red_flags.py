"""Red flags: what stops a leg at sight, whatever the arteries measured."""

from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    AUSTRALIA,
    CONSENSUS,
    GUIDELINE,
    IMMEDIATE,
    LOCAL,
    RABE,
    TAYSIDE,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
    finding,
)
from gaiter.core.words import words

_NEW = {
    "new_pain": "new pain",
    "colour_change": "change of colour",
    "temperature_change": "change of temperature",
}


def _new_trouble(scene: Scene) -> Fields | None:
    found = [said for name, said in _NEW.items() if getattr(scene.leg.findings, name)]
    return {"what": words(found, capital=True)} if found else None


def _arteries_today(scene: Scene) -> tuple[str, ...]:
    test = scene.leg.arterial.measured_on
    tested = scene.numbers.ankle_brachial is not None or scene.numbers.toe_brachial is not None
    if tested and test == scene.case.today:
        return ()
    return ("the arteries measured today",)


def _emergency(code: str, text: str, danger: str) -> Rule:
    return Rule(
        code, Subject.RED_FLAGS, RuleKind.HARD_STOP, text, IMMEDIATE, GUIDELINE,
        when=finding(code), needs=(f"leg.findings.{code}",), danger=danger,
        refer=Refer.EMERGENCY, red_flag=True, one_press=True,
    )  # fmt: skip


RULES = (
    _emergency(
        "acute_ischaemia",
        "Signs of sudden lack of blood: emergency. No compression; call the vascular team now.",
        "signs of sudden lack of blood",
    ),
    _emergency(
        "sepsis",
        "Signs of sepsis: emergency. No compression; call for help now.",
        "unwell with infection",
    ),
    Rule(
        "gangrene", Subject.RED_FLAGS, RuleKind.HARD_STOP,
        "Gangrene: no compression; urgent vascular referral.",
        IMMEDIATE, GUIDELINE,
        when=finding("gangrene"), needs=("leg.findings.gangrene",), danger="dead tissue",
        refer=Refer.VASCULAR, red_flag=True, one_press=True,
    ),
    Rule(
        "rest_pain", Subject.RED_FLAGS, RuleKind.HARD_STOP,
        "Pain at rest in the foot: the arteries may be failing. No compression; urgent vascular "
        "referral.",
        IMMEDIATE, GUIDELINE,
        when=finding("rest_pain"), needs=("leg.findings.rest_pain",), danger="pain at rest",
        refer=Refer.VASCULAR, red_flag=True, one_press=True,
    ),
    Rule(
        "new_pain_or_colour", Subject.RED_FLAGS, RuleKind.SOFT_STOP,
        "{what} since the last visit: whatever was approved no longer counts. Leave the bandage "
        "off, measure the arteries today and find the cause.",
        AUSTRALIA, GUIDELINE,
        when=_new_trouble, needs=tuple(f"leg.findings.{name}" for name in _NEW),
        danger="new pain, colour or temperature", refer=Refer.VASCULAR, red_flag=True,
        one_press=True, before_set_aside=_arteries_today,
    ),
    Rule(
        "necrosis_risk", Subject.RED_FLAGS, RuleKind.SOFT_STOP,
        "Disease of the small vessels with risk of necrosis: no compression without a specialist.",
        RABE, CONSENSUS,
        when=finding("necrosis_risk"), needs=("leg.findings.necrosis_risk",),
        danger="risk of necrosis", refer=Refer.VASCULAR, red_flag=True, one_press=True,
    ),
    Rule(
        "vasculitis", Subject.RED_FLAGS, RuleKind.SOFT_STOP,
        "Vasculitis or pyoderma suspected: refer; reduced compression only with a specialist.",
        TAYSIDE, LOCAL,
        when=finding("vasculitis_suspected"), needs=("leg.findings.vasculitis_suspected",),
        danger="vasculitis suspected", refer=Refer.SKIN, red_flag=True, one_press=True,
    ),
    Rule(
        "malignancy", Subject.RED_FLAGS, RuleKind.SOFT_STOP,
        "Malignancy suspected or an atypical place: refer for biopsy before compressing.",
        TAYSIDE, LOCAL,
        when=finding("malignancy_suspected"), needs=("leg.findings.malignancy_suspected",),
        danger="malignancy suspected", refer=Refer.SKIN, red_flag=True, one_press=True,
    ),
)  # fmt: skip
