"""Bypass grafts, stents and what the Doppler sounds like."""

from collections.abc import Callable

from gaiter.core.case import Bypass, Waveform
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
    finding,
)

_BYPASS, _STENT = "leg.findings.bypass", "leg.findings.stent"
_WAVEFORM = "leg.arterial.waveform"


def _graft(kind: Bypass) -> Callable[[Scene], Fields | None]:
    def when(scene: Scene) -> Fields | None:
        findings = scene.leg.findings
        if findings.bypass is not kind:
            return None
        return {"route": f" ({findings.bypass_route})" if findings.bypass_route else ""}

    return when


def _sounds(kind: Waveform) -> Callable[[Scene], Fields | None]:
    def when(scene: Scene) -> Fields | None:
        cap = scene.policy["reduced_maximum_mmhg"]
        return {"cap": cap} if scene.leg.arterial.waveform is kind else None

    return when


RULES = (
    Rule(
        "bypass_superficial", Subject.VESSELS, RuleKind.HARD_STOP,
        "A bypass graft runs under the skin where the bandage goes{route}: do not compress it. "
        "Vascular team.",
        RABE, CONSENSUS,
        when=_graft(Bypass.SUPERFICIAL), needs=(_BYPASS,), danger="bypass under the skin",
        carry=Carry.STAYS, refer=Refer.VASCULAR, one_press=True,
    ),
    Rule(
        "bypass_deep", Subject.VESSELS, RuleKind.SOFT_STOP,
        "A deep or above-knee bypass graft{route}: only with the vascular specialist.",
        "vascular practice", MEMORY,
        when=_graft(Bypass.DEEP), needs=(_BYPASS,), danger="bypass", carry=Carry.STAYS,
        refer=Refer.VASCULAR, one_press=True,
    ),
    Rule(
        "stent", Subject.VESSELS, RuleKind.SOFT_STOP,
        "A stent in this leg's arteries: get a note from the vascular team first.",
        OURS, CHOICE,
        when=finding("stent"), needs=(_STENT,), only_caps=True, danger="stent",
        carry=Carry.STAYS, refer=Refer.VASCULAR, one_press=True,
    ),
    Rule(
        "waveform_absent", Subject.VESSELS, RuleKind.SOFT_STOP,
        "No Doppler signal at the foot: no compression; vascular referral.",
        OURS, CHOICE,
        when=_sounds(Waveform.ABSENT), needs=(_WAVEFORM,), only_caps=True,
        danger="no signal at the foot", carry=Carry.STAYS, refer=Refer.VASCULAR,
    ),
    Rule(
        "waveform_monophasic", Subject.VESSELS, RuleKind.CAP,
        "Monophasic signal at the foot: arterial disease is likely whatever the index says; "
        "reduced, at most {cap:g} mmHg, and refer.",
        "IWGDF 2019 (a triphasic signal speaks against it); the cap is our choice", GUIDELINE,
        when=_sounds(Waveform.MONOPHASIC), needs=(_WAVEFORM,), only_caps=True, carry=Carry.STAYS,
        effects=frozenset({Effect.INELASTIC}),
    ),
)  # fmt: skip
