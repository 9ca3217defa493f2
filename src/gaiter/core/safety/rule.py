"""A safety rule is one record: what it asks, when it fires, what it says, does, and rests on.

Everything that shows or uses a rule asks its record: the decision, Today, the visit, the choice
of system, sheets, papers and docs/safety.md.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any, Self

from gaiter.core.case import SafetyCase, SafetyLeg
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety.arterial import ArterialNumbers, arterial_numbers
from gaiter.core.safety.reason import Reason, RuleKind
from gaiter.core.words import Said, Value

# Sources that several rules name.
RABE = "Rabe et al. 2020, Phlebology 35:447 (15 experts; authors' own review read)"
AUSTRALIA = "Therapeutic Guidelines Australia, ulcer and wound management"
GP = "UK general-practice reference page on compression bandaging"
IMMEDIATE = "Wounds UK quick guide, immediate and necessary care"
TAYSIDE = "NHS Tayside wound formulary"
OURS = "no number was found; our choice on the safe side"
CONSENSUS, GUIDELINE, LOCAL = "consensus", "guideline", "local guideline"
MEMORY, SECOND_HAND = "from memory, not verified", "second-hand"
CHOICE, PRACTICE = "our choice", "common practice, no source"


class Subject(StrEnum):
    """What a rule is about; the order in which a person is asked."""

    RED_FLAGS = "Red flags"
    TOES = "Toes and pain today"
    CLOT = "Clot"
    INFECTION = "Infection"
    HEART = "Heart"
    PERSON = "The person"
    VESSELS = "Grafts and vessels"
    ARTERIES = "Arteries"
    NERVES = "Feeling"
    SKIN = "Skin, shape and wound"
    LOCAL = "Record and local policy"


class Carry(StrEnum):
    """How the answers of a rule carry over to the next visit."""

    STAYS = "stays until it is changed"
    AFRESH = "asked afresh at every visit; a bad answer stays until somebody looks again"
    DAY = "counts on its day only"


class Effect(StrEnum):
    """What a rule that fired does beyond the decision: to the choice, the start, the follow-up."""

    INELASTIC = "arteries ask for inelastic material"
    INELASTIC_ONLY = "only inelastic material"
    QUESTIONS_LEVEL = "arteries question the level"
    START_LOW = "the lower start is offered first"
    DAILY_LOOK = "toes are looked at every day"


class Refer(StrEnum):
    """Who is asked when a rule stops a leg."""

    EMERGENCY = "emergency service, now"
    VASCULAR = "vascular team"
    HEART = "heart team"
    CLOT = "clot clinic or emergency service, today"
    INFECTION = "prescriber or medical team, today"
    FOOT = "foot service or diabetes team"
    SKIN = "dermatology or wound specialist"
    PRESCRIBER = "prescriber"


@dataclass(frozen=True)
class Scene:
    """What a rule looks at.

    Attributes
    ----------
    case : SafetyCase
        The person, on the day of the visit.
    leg : SafetyLeg
        The leg that is judged.
    numbers : ArterialNumbers
        Its pressures and indices.
    policy : Policy
        Local policy.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> answers = {"arms.left_mmhg": 120, "leg.arterial.toe_mmhg": 90}
    >>> Scene.where(answers, shipped_policy()).numbers.toe_brachial
    0.75
    """

    case: SafetyCase
    leg: SafetyLeg
    numbers: ArterialNumbers
    policy: Policy

    @classmethod
    def of(cls, case: SafetyCase, side: Side, policy: Policy) -> Self:
        """The scene of one leg of a case.

        Parameters
        ----------
        case : SafetyCase
            Whatever is known of the person.
        side : Side
            The leg, one of the case's.
        policy : Policy
            Local policy.

        Returns
        -------
        Scene

        Examples
        --------
        >>> from gaiter.files.policy_file import shipped_policy
        >>> known = Scene.where({"person.age_years": 70}, shipped_policy()).case
        >>> Scene.of(known, Side.LEFT, shipped_policy()).case.person.age_years
        70
        """
        leg = case.legs[side]
        return cls(case, leg, arterial_numbers(case.arms, leg.arterial), policy)

    @classmethod
    def where(
        cls, answers: Mapping[str, Any], policy: Policy, today: date = date(2026, 11, 25)
    ) -> Self:
        """The scene in which so much is known of a left leg and nothing else, to try a rule on.

        Parameters
        ----------
        answers : Mapping
            By path (``person.``, ``arms.`` or ``leg.``), units as in ``gaiter.case/1``.
        policy : Policy
            Local policy.
        today : date
            Day of the visit.

        Returns
        -------
        Scene

        Raises
        ------
        pydantic.ValidationError
            If a path or a value is none of a case.

        Examples
        --------
        >>> from gaiter.files.policy_file import shipped_policy
        >>> Scene.where({"leg.findings.gangrene": True}, shipped_policy()).leg.findings.gangrene
        True
        """
        known: dict[str, Any] = {"schema": "gaiter.case/1", "today": today}
        known["legs"] = {Side.LEFT: {}}
        for path, value in answers.items():
            top, *tables, name = path.split(".")
            table = known["legs"][Side.LEFT] if top == "leg" else known.setdefault(top, {})
            for part in tables:
                table = table.setdefault(part, {})
            table[name] = value
        return cls.of(SafetyCase.model_validate(known), Side.LEFT, policy)


Fields = Mapping[str, Value]
"""What fills the braces of a rule's text; ``cap`` is the pressure it leaves [mmHg]."""

When = Callable[[Scene], "Fields | None"]
Missing = Callable[[Scene], "tuple[str, ...]"]


def _nothing_missing(_scene: Scene) -> tuple[str, ...]:
    return ()


@dataclass(frozen=True)
class Rule:
    """One safety rule.

    Attributes
    ----------
    code : str
        Its name in records, documents and documentation.
    subject : Subject
        What it is about.
    kind : RuleKind
        What it does to the decision.
    text : str
        Template of what it is and what to do, with braces that are filled when it fires.
    source, strength, disagreement : str
        Where it comes from, how sure that is, and where guidelines disagree.
    when : callable
        Fields of the text when it fires in a scene, None when it does not.
    needs : tuple[str, ...]
        Paths of answers without which nothing is compressed.
    reads : tuple[str, ...]
        Further paths it rests on; left out, they do not block.
    only_caps : bool
        Whether its unanswered question caps instead of blocking.
    danger : str
        What Today calls it; empty: no danger sign.
    carry : Carry
        How its answers carry over to the next visit.
    effects : frozenset[Effect]
        What it does beyond the decision.
    refer : Refer or None
        Who is asked when it stops a leg.
    of_person : bool
        Whether it is about the person, before either leg.
    red_flag : bool
        Whether its questions belong to the red-flag screen.
    one_press : bool
        Whether "asked all of these, none present" may answer it.
    provisional : bool
        Whether a *first* leaves local policy's provisional level to choose.
    before_set_aside : callable
        What is still missing, in words, before a soft stop may be set aside.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> rule = Rule("dead_tissue", Subject.SKIN, RuleKind.HARD_STOP, "Black tissue: refer.",
    ...             PRACTICE, PRACTICE, when=finding("gangrene"))
    >>> rule.stops
    True
    >>> rule.fired(Scene.where({"leg.findings.gangrene": True}, shipped_policy())).text
    'Black tissue: refer.'
    >>> rule.fired(Scene.where({"leg.findings.gangrene": False}, shipped_policy()))
    >>> rule.reason({}).code
    'dead_tissue'
    """

    code: str
    subject: Subject
    kind: RuleKind
    text: str
    source: str
    strength: str
    when: When
    needs: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    only_caps: bool = False
    disagreement: str | None = None
    danger: str = ""
    carry: Carry = Carry.AFRESH
    effects: frozenset[Effect] = frozenset()
    refer: Refer | None = None
    of_person: bool = False
    red_flag: bool = False
    one_press: bool = False
    provisional: bool = False
    before_set_aside: Missing = field(default=_nothing_missing)

    @property
    def stops(self) -> bool:
        """Whether it stops a leg.

        Returns
        -------
        bool
            True for a hard stop and for a soft one.
        """
        return self.kind in (RuleKind.HARD_STOP, RuleKind.SOFT_STOP)

    def reason(self, fields: Fields) -> Reason:
        """What it says with its braces filled.

        Parameters
        ----------
        fields : Mapping
            Values by the names in the braces; ``cap`` is the pressure it leaves [mmHg].

        Returns
        -------
        Reason
        """
        cap = fields.get("cap")
        return Reason(
            code=self.code,
            kind=self.kind,
            text=Said(self.text, fields).text,
            template=self.text,
            values=fields,
            cap_mmhg=float(cap) if isinstance(cap, int | float) else None,
            source=self.source,
            strength=self.strength,
            disagreement=self.disagreement,
        )

    def fired(self, scene: Scene) -> Reason | None:
        """Its reason in a scene.

        Parameters
        ----------
        scene : Scene
            What it looks at.

        Returns
        -------
        Reason or None
            None where it does not fire.
        """
        fields = self.when(scene)
        return None if fields is None else self.reason(fields)


FIRES: Fields = {}
"""Fields of a rule whose text has no braces."""


def finding(name: str) -> When:
    """Fires when a finding of the leg was answered yes.

    Parameters
    ----------
    name : str
        Of the finding.

    Returns
    -------
    callable
        What a rule takes as its ``when``.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> when = finding("gangrene")
    >>> when(Scene.where({"leg.findings.gangrene": True}, shipped_policy()))
    {}
    >>> when(Scene.where({}, shipped_policy())) is None
    True
    """

    def when(scene: Scene) -> Fields | None:
        return FIRES if getattr(scene.leg.findings, name) else None

    return when
