"""Whether a plan in force still holds at a visit: whatever it rests on may have changed.

One question, :func:`holding`, that the bandaging action and every page ask. What voids a plan
ends it: an action writes that down when the bandage is about to be recorded and when the visit
is signed. What asks for review keeps it from being bandaged until the visit has answered it or a
new plan is approved.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from gaiter.core.case import Case, Person
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import SystemPlan
from gaiter.core.plan.borne import not_borne
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.plan.systems import Trait
from gaiter.core.policy import Policy
from gaiter.core.safety import RULES, LegDecision, Outcome, RuleKind, decide
from gaiter.core.words import SEMICOLON, Said, Value, joined
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.records.models import PlanRecord, StockItem, Visit
from gaiter.records.read.documents import case_then, leg_of, plan_of
from gaiter.records.visit.case import (
    Assembled,
    assembled,
    case_mapping,
    case_or_problems,
    local_catalogue,
    local_policy,
)
from gaiter.records.visit.decided import found_in, stop_said, uncleared_stops
from gaiter.records.words import in_language


class PlanVerdict(StrEnum):
    """What becomes of a plan in force; the gravest reason decides."""

    HOLDS = "holds"
    REVIEW = "review"
    VOID = "void"


_GRAVITY = {verdict: rank for rank, verdict in enumerate(PlanVerdict)}


@dataclass(frozen=True)
class Change:
    """One thing that a plan rests on and that is otherwise now.

    Attributes
    ----------
    verdict : PlanVerdict
        What it asks.
    said : Said
        What it is about, by its code, and in words with what to do.
    """

    verdict: PlanVerdict
    said: Said

    @property
    def code(self) -> str:
        """What it is about."""
        return self.said.code


# Whoever bandages may answer this one: the rolls were there all the same, exactly as planned.
STOCK_OUT = "stock_out"


@dataclass(frozen=True)
class Holding:
    """A verdict on a plan with every reason, gravest first."""

    reasons: tuple[Change, ...] = ()

    @property
    def verdict(self) -> PlanVerdict:
        """The gravest that any reason asks."""
        return self.reasons[0].verdict if self.reasons else PlanVerdict.HOLDS

    @property
    def holds(self) -> bool:
        """Whether the plan may be bandaged."""
        return not self.reasons

    @property
    def words(self) -> str:
        """Every reason in the reader's language; empty where the plan holds."""
        return " ".join(in_language(reason.said) for reason in self.reasons)

    @property
    def against_leg(self) -> str:
        """What of today forbids this plan on this leg; not what is only to be looked at again."""
        forbids = ("decision", "uncleared")
        return " ".join(
            in_language(reason.said)
            for reason in self.reasons
            if reason.verdict is PlanVerdict.VOID or reason.code in forbids
        )

    @property
    def only_stock(self) -> bool:
        """Whether nothing but the shelf speaks against it."""
        return bool(self.reasons) and all(reason.code == STOCK_OUT for reason in self.reasons)

    def without_stock(self) -> "Holding":
        """What is left when the rolls were there exactly as planned."""
        return Holding(tuple(reason for reason in self.reasons if reason.code != STOCK_OUT))


def holding(visit: Visit, plan: PlanRecord) -> Holding:
    """Whether a plan may be bandaged at a visit, from the case then and now and the policy.

    Parameters
    ----------
    visit : Visit
        The visit that looked at the leg.
    plan : PlanRecord
        The approved plan of its episode.

    Returns
    -------
    Holding
        ``holds``, ``review`` or ``void``, with every reason.
    """
    seen, policy = assembled(visit), local_policy()
    reasons = [*_of_decision(seen, plan, policy), *_of_plan(seen, plan, policy)]
    reasons += [Change(PlanVerdict.REVIEW, said) for said in _uncleared(visit)]
    if not any(reason.code == "decision" for reason in reasons):
        reasons += _incomplete(seen)
    reasons.sort(key=lambda reason: -_GRAVITY[reason.verdict])
    return Holding(tuple(reasons))


def why_not_today(visit: Visit, plan: PlanRecord) -> str:
    """Why a plan may not be bandaged at a visit; empty where it may."""
    return holding(visit, plan).words


def uncleared_in_words(visit: Visit) -> str:
    """Stops of earlier visits that no prescriber has cleared, in words; empty where none stands."""
    return " ".join(map(in_language, _uncleared(visit)))


def _uncleared(visit: Visit) -> list[Said]:
    return [
        Said(
            "{what} Referred to {whom} on {day}: not cleared by a prescriber.",
            {"what": stop_said(one.code), "whom": one.referred_to, "day": one.on.isoformat()},
            "uncleared",
        )
        for one in uncleared_stops(visit.episode)
        if one.visit_id != visit.pk
    ]


def _incomplete(seen: Assembled) -> Iterator[Change]:
    if not isinstance(case_or_problems(seen, with_stock=False), Case):
        text = "This visit is not complete: look and measure first."
        yield Change(PlanVerdict.REVIEW, Said(text, code="incomplete"))


def _of_decision(seen: Assembled, plan: PlanRecord, policy: Policy) -> Iterator[Change]:
    """The decision of today: a stop, something to ask first, a lower maximum, a new rule."""
    side = Side(seen.visit.episode.side)
    found = found_in(case_mapping(seen, with_stock=False), side, policy)
    now = found.decision
    if now is None:
        words = joined((said for _path, said in found.contradictions), SEMICOLON)
        yield Change(PlanVerdict.REVIEW, Said("{words}", {"words": words}, "decision"))
        return
    if now.maximum_mmhg is None:
        verdict = PlanVerdict.VOID if now.outcome is Outcome.STOP else PlanVerdict.REVIEW
        yield Change(verdict, _decided(now))
        return
    then = leg_of(plan_of(plan)).decision
    if now.maximum_mmhg < plan.maximum_mmhg:
        case = case_then(plan)
        before = decide(case, policy).legs[side] if case is not None else None
        by_policy = before is not None and before.maximum_mmhg == now.maximum_mmhg
        values: dict[str, Value] = {"now": now.maximum_mmhg, "then": plan.maximum_mmhg}
        if by_policy:
            said = Said(_LOWER_BY_POLICY, values | {"policy": policy.said}, "maximum")
            yield Change(PlanVerdict.REVIEW, said)
        else:
            yield Change(PlanVerdict.VOID, Said(_LOWER, values, "maximum"))
    yield from _new_rules(then, now)


_LOWER = "Today's maximum is {now:g} mmHg, this plan's {then:g} mmHg: plan anew before bandaging."
_LOWER_BY_POLICY = _LOWER + " Local policy has changed since: {policy}."


def _decided(now: LegDecision) -> Said:
    """The headline of today with the first reason that set it."""
    first = next((r.said for r in now.reasons if r.code in now.limiting), None)
    if first is None:
        return Said("{headline}.", {"headline": now.said}, "decision")
    return Said("{headline}. {why}", {"headline": now.said, "why": first}, "decision")


def _new_rules(then: LegDecision, now: LegDecision) -> Iterator[Change]:
    """Rules that bear on how a leg is bandaged and did not when the plan was made."""
    known = {reason.code for reason in then.reasons}
    for effect in sorted(now.effects - then.effects):
        said = Said(
            "New since the plan: {effect}. Plan anew.", {"effect": Said(effect.value)}, "effect"
        )
        yield Change(PlanVerdict.REVIEW, said)
    for reason in now.reasons:
        new = reason.code not in known
        of_person = reason.code in RULES and RULES[reason.code].of_person
        if new and of_person and reason.kind in (RuleKind.CAP, RuleKind.CAUTION):
            said = Said("New since the plan: {what} Plan anew.", {"what": reason.said}, "person")
            yield Change(PlanVerdict.REVIEW, said)


def _of_plan(seen: Assembled, plan: PlanRecord, policy: Policy) -> Iterator[Change]:
    """What the plan itself was made for: materials, girths, wound, purpose, stock."""
    system = leg_of(plan_of(plan)).systems[0]
    yield from _borne(seen, system)
    yield from _stock(system)
    case = case_then(plan)
    if case is None:
        text = "This plan was made by an older program, from a case that cannot be read: plan anew."
        yield Change(PlanVerdict.REVIEW, Said(text, code="case"))
        return
    yield from _girths(seen, case, policy)
    yield from _wound(seen, case)
    yield from _purpose(seen, case)


def _borne(seen: Assembled, system: SystemPlan) -> Iterator[Change]:
    catalogue = local_catalogue()
    materials = [
        catalogue[layer.material]
        for layer in system.layers
        if layer.material in catalogue.materials
    ]
    if system.name not in catalogue.systems:
        said = Said(
            "This clinic no longer uses the bandage {title}: plan anew.",
            {"title": Said(system.title)},
            "system",
        )
        yield Change(PlanVerdict.REVIEW, said)
    person = Person(
        allergies=seen.value("person.allergies"),
        does_not_tolerate=seen.value("person.does_not_tolerate") or (),
    )
    for why in not_borne(person, materials, _traits_of(system.name, catalogue)):
        said = Said("Not this bandage: {why}. Plan another.", {"why": why}, "not_borne")
        yield Change(PlanVerdict.VOID, said)


def _traits_of(name: str, catalogue: BandageCatalogue) -> frozenset[Trait]:
    """What a system is like; one that no list knows any more may be anything."""
    known = catalogue.systems.get(name) or shipped_catalogue().systems.get(name)
    return frozenset(known.traits if known else Trait)


def _stock(system: SystemPlan) -> Iterator[Change]:
    """A layer whose material has run out would be bandaged with something else."""
    shelf: dict[str, int] = {}
    for material, rolls in StockItem.objects.values_list("material", "rolls"):
        shelf[material] = shelf.get(material, 0) + rolls
    for layer in system.layers:
        if shelf.get(layer.material) == 0:
            said = Said(
                "{material} has run out: do not take another in its place. Plan anew, or say that "
                "it was there all the same.",
                {"material": Said(layer.title)},
                STOCK_OUT,
            )
            yield Change(PlanVerdict.REVIEW, said)


def _girths(seen: Assembled, case: Case, policy: Policy) -> Iterator[Change]:
    girths = case.legs[Side(seen.visit.episode.side)].girth_cm
    for landmark in Landmark:
        then, now = girths.at(landmark), seen.value(f"leg.girth_cm.{landmark.value}")
        if then is None or now is None:
            continue
        share = abs(now / then - 1)
        if share < policy["girth_review_share"]:
            continue
        verdict = PlanVerdict.VOID if share >= policy["girth_void_share"] else PlanVerdict.REVIEW
        said = Said(
            "Girth at the {landmark} {then:g} → {now:g} cm since the plan, {share:.0%}: measure "
            "once more, then plan anew.",
            {"landmark": Said(landmark.label), "then": then, "now": now, "share": share},
            "girth",
        )
        yield Change(verdict, said)


def _wound(seen: Assembled, case: Case) -> Iterator[Change]:
    wound = case.legs[Side(seen.visit.episode.side)].wound
    then = wound.place.value if wound and wound.place else None
    now = seen.value("leg.wound.place")
    if then == now:
        return
    verdict = PlanVerdict.REVIEW if now is None else PlanVerdict.VOID
    said = Said(
        "Wound: {now}, when planned {then}. Plan anew.",
        {"now": Said(now or "none"), "then": Said(then or "none")},
        "wound",
    )
    yield Change(verdict, said)


def _purpose(seen: Assembled, case: Case) -> Iterator[Change]:
    then = case.legs[Side(seen.visit.episode.side)].purpose.value
    now = seen.value("leg.purpose")
    if now is not None and now != then:
        said = Said(
            "The bandage is for {now}, the plan for {then}. Plan anew.",
            {"now": Said(now), "then": Said(then)},
            "purpose",
        )
        yield Change(PlanVerdict.VOID, said)
