"""What people decide about a stop: set aside, referred, cleared; and the provisional level."""

from datetime import date

from django.utils.translation import gettext as _

from gaiter.core.case import OverrideReason, SafetyCase
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.safety import LegDecision, decide
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.actions.closed import require_open, require_unsigned
from gaiter.records.actions.plans import orders_in_force
from gaiter.records.ledger import Actor, NotAllowedError, action
from gaiter.records.models import (
    Episode,
    OverrideRecord,
    ProvisionalRecord,
    Role,
    StandingOrder,
    StopAction,
    StopCleared,
    Visit,
)
from gaiter.records.visit.case import (
    VisitError,
    assembled,
    case_mapping,
    local_policy,
    provisional_of,
    safety_case_in,
)
from gaiter.records.visit.decided import decision_of, found_at, stops_of, uncleared_stops
from gaiter.records.words import in_language, kept_words


def override_stops(  # noqa: PLR0913 # every part of an override is named
    actor: Actor, visit: Visit, *, code: str, aim_low_mmhg: float, aim_high_mmhg: float,
    maximum_mmhg: float, reason: str, words: str, vascular_by: str = "",
    vascular_on: date | None = None,
) -> OverrideRecord:  # fmt: skip
    """A prescriber sets one soft stop aside, with an aim, a maximum, a reason and words.

    Raises
    ------
    NotAllowedError
        If somebody else tries.
    InputError
        If a number, the reason or the words are wrong, the stop is none that can be set aside,
        or what its rule asks for first is missing.
    """
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may set a stop aside."))
    if reason not in list(OverrideReason):
        raise InputError(_("Choose a reason from the list."))
    words = kept_words(_("Your words"), words, 2000, 10)
    policy = local_policy()
    least, most = policy["override_least_mmhg"], policy["reduced_maximum_mmhg"]
    if not least <= aim_low_mmhg < aim_high_mmhg <= maximum_mmhg <= most:
        raise InputError(
            _(
                "Aim and maximum must rise in this order and be {least:g} to {most:g} mmHg; "
                "received {low:g}–{high:g}, never above {maximum:g}: correct them."
            ).format(
                least=least, most=most, low=aim_low_mmhg, high=aim_high_mmhg, maximum=maximum_mmhg
            )
        )
    said = {
        "code": code, "aim_low_mmhg": aim_low_mmhg, "aim_high_mmhg": aim_high_mmhg,
        "maximum_mmhg": maximum_mmhg, "reason": reason, "words": words,
        "by": actor.account.name,
    }  # fmt: skip
    if vascular_by.strip() and vascular_on is not None:
        said |= {"vascular_by": vascular_by.strip(), "vascular_on": vascular_on}
    with action(actor, "override", visit) as act:
        require_unsigned(visit)
        _require_settable(visit, code, said)
        for old in visit.overrides.filter(withdrawn_at=None, code=code):
            act.change(old, withdrawn_at=act.at)
        return act.create(
            OverrideRecord,
            visit=visit, code=code, aim_low_mmhg=aim_low_mmhg, aim_high_mmhg=aim_high_mmhg,
            maximum_mmhg=maximum_mmhg, reason=reason, words=words,
            vascular_by=vascular_by.strip(), vascular_on=vascular_on, prescriber=actor.account,
            at=act.at,
        )  # fmt: skip


def _require_settable(visit: Visit, code: str, said: dict[str, object]) -> None:
    """Decides once as if the stop were set aside: it must then stand no more."""
    seen = assembled(visit)
    now = decision_of(seen)
    if code not in {reason.code for reason in stops_of(now)}:
        raise InputError(_("This stop does not stand at this visit: nothing to set aside."))
    if code not in {soft.code for soft in now.to_set_aside}:
        raise InputError(_("A hard stop is never set aside."))
    mapping = case_mapping(seen, with_stock=False)
    leg = mapping["legs"][visit.episode.side]
    leg["overrides"] = [o for o in leg.get("overrides", []) if o["code"] != code] + [said]
    case = safety_case_in(mapping, visit.episode.side)
    if not isinstance(case, SafetyCase):
        raise VisitError(case)
    then = decide(case, local_policy()).legs[Side(visit.episode.side)]
    if missing := _still_missing(then, code):
        raise InputError(
            _("Before this stop may be set aside: {missing}.").format(missing="; ".join(missing))
        )


def _still_missing(decision: LegDecision, code: str) -> tuple[str, ...]:
    for soft in decision.to_set_aside:
        if soft.code == code:
            return tuple(map(in_language, soft.missing)) or (_("something that its rule asks for"),)
    return ()


def withdraw_override(actor: Actor, override: OverrideRecord) -> OverrideRecord:
    """The stop stands again."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may change an override."))
    with action(actor, "withdraw override", override.visit) as act:
        if act.read(override).withdrawn_at is not None:
            raise InputError(_("The stop stands again already."))
        require_unsigned(override.visit)
        return act.change(override, withdrawn_at=act.at)


def choose_provisional(
    actor: Actor, visit: Visit, words: str, once: str | None = None
) -> ProvisionalRecord:
    """Local policy's provisional level, while something is still to be asked or measured.

    Raises
    ------
    NotAllowedError
        If it is neither a prescriber nor a bandager under a clinic's standing order that covers
        the level.
    InputError
        If the decision leaves no such level at this visit, or the words are too few.
    """
    words = kept_words(_("Your words"), words, 2000, 10)
    with action(actor, "choose provisional level", visit, once=once) as act:
        require_unsigned(visit)
        level = decision_of(assembled(visit)).provisional_mmhg
        if level is None:
            raise InputError(
                _("This visit leaves no provisional level: ask and measure first, or see the stop.")
            )
        order = None if actor.account.role == Role.PRESCRIBER else _clinic_order(actor, level)
        for old in visit.provisionals.filter(withdrawn_at=None):
            act.change(old, withdrawn_at=act.at)
        return act.create(
            ProvisionalRecord, visit=visit, order=order, words=words, by=actor.account, at=act.at
        )


def _clinic_order(actor: Actor, level_mmhg: float) -> StandingOrder:
    """A clinic-wide standing order whose maximum covers the provisional level."""
    if actor.account.role == Role.BANDAGER:
        for order in orders_in_force(actor.today):
            if order.person_id is None and order.maximum_mmhg >= level_mmhg:
                return order
    raise NotAllowedError(
        _(
            "Only a prescriber may choose the provisional level; no standing order of the clinic "
            "covers {level:g} mmHg today."
        ).format(level=level_mmhg)
    )


def withdraw_provisional(actor: Actor, visit: Visit) -> ProvisionalRecord:
    """The provisional level is taken back; whoever bandages may always go lower."""
    if actor.account.role not in (Role.PRESCRIBER, Role.BANDAGER):
        raise NotAllowedError(_("Only clinical staff may change a visit."))
    with action(actor, "withdraw provisional level", visit) as act:
        require_unsigned(visit)
        chosen = provisional_of(visit)
        if chosen is None:
            raise InputError(_("No provisional level was chosen at this visit."))
        return act.change(chosen, withdrawn_at=act.at)


def record_stop_action(  # what was done about one stop, each part named
    actor: Actor, visit: Visit, *, code: str, referred_to: str, on: date, words: str = "",
    once: str | None = None,
) -> StopAction:  # fmt: skip
    """Says to whom the person was referred because of a stop, and when.

    Raises
    ------
    InputError
        If there is no such rule, nobody is named, or the day lies far from the visit.
    """
    require_clinical(actor)
    named = kept_words(_("Referred to whom"), referred_to, 120, 3)
    with action(actor, "record action for stop", visit, once=once) as act:
        require_unsigned(visit)
        decision = found_at(assembled(visit)).decision
        if decision is None or code not in {reason.code for reason in stops_of(decision)}:
            raise InputError(_("Choose one of the stops of this visit."))
        if not visit.day <= on <= actor.today:
            raise InputError(
                _("The day must be {first} to {last}; received {on}: correct it.").format(
                    first=visit.day, last=actor.today, on=on
                )
            )
        return act.create(
            StopAction,
            visit=visit, code=code, referred_to=named, on=on, by=actor.account, at=act.at,
            words=kept_words(_("In words"), words, 2000),
        )  # fmt: skip


def clear_stop(
    actor: Actor, episode: Episode, code: str, words: str, once: str | None = None
) -> StopCleared:
    """A prescriber says that a stop stands no more, with the reason in words."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may clear a stop."))
    words = kept_words(_("Your words"), words, 2000, 10)
    with action(actor, "clear stop", episode, once=once) as act:
        require_open(episode)
        if code not in {one.code for one in uncleared_stops(episode)}:
            raise InputError(_("No stop of this name stands open on this leg."))
        return act.create(
            StopCleared, episode=episode, code=code, words=words, by=actor.account, at=act.at
        )
