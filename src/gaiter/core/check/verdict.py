"""The verdict on a bandage from what was seen on the toes and at its edges."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from gaiter.core.check import words
from gaiter.core.check.boxes import CHECK_BOXES, PAIN_LABEL, PAIN_MOST, TOES, CheckBox, Seen
from gaiter.core.errors import InputError
from gaiter.core.policy import Policy
from gaiter.core.words import SEMICOLON, Said, Several, Value

_GRAVE = (Seen.GRAVE, Seen.GRAVE_ALWAYS)
# One slight sign of less blood is loosened; two together are taken off (our choice).
_SLIGHT_SIGNS_THAT_COUNT = 2


class Verdict(StrEnum):
    """What a check asks for.

    Examples
    --------
    >>> [verdict.value for verdict in Verdict]
    ['good', 'loosen and look again', 'take it off now']
    """

    GOOD = "good"
    LOOSEN = "loosen and look again"
    TAKE_OFF = "take it off now"


HEADLINES = {
    Verdict.GOOD: words.MAY_STAY,
    Verdict.LOOSEN: words.LOOSEN_IT,
    Verdict.TAKE_OFF: words.TAKE_IT_OFF_NOW,
}


@dataclass(frozen=True)
class Failed:
    """A box that is not good, with what was seen, and what was seen before the bandage.

    Attributes
    ----------
    key : str
        Key of the box, or ``pain``.
    said : Said
        It in words, for any language.
    grave : bool
        Whether it takes the bandage off by itself.

    Examples
    --------
    >>> Failed("warmth", Said("Toes feel: cold (before the bandage warm)"), grave=True).text
    'Toes feel: cold (before the bandage warm)'
    """

    key: str
    said: Said
    grave: bool

    @property
    def text(self) -> str:
        """In English.

        Returns
        -------
        str
        """
        return self.said.text


@dataclass(frozen=True)
class CheckVerdict:
    """What to do with a bandage that was checked.

    Attributes
    ----------
    verdict : Verdict
        Gravest that any box asks.
    headline : str
        It in words, for the top of the page.
    failed : tuple[Failed, ...]
        Boxes that are not good, gravest first.
    as_before : tuple[Said, ...]
        What is not good but was so before the bandage: said, it asks for nothing.
    what_next : tuple[Said, ...]
        What to do, in order.

    Examples
    --------
    >>> CheckVerdict(Verdict.GOOD, HEADLINES[Verdict.GOOD], (), (), ()).headline
    'The bandage may stay on'
    """

    verdict: Verdict
    headline: str
    failed: tuple[Failed, ...]
    as_before: tuple[Said, ...]
    what_next: tuple[Said, ...]


def judge_check(
    answers: Mapping[str, str | int], baseline: Mapping[str, str | int | None], policy: Policy
) -> CheckVerdict:
    """Verdict on a bandage: good, loosen and look again, or take it off now.

    White, blue or grey toes, toes that are newly pale, cold, numb or unmoving, and severe pain
    that has risen: off at once. Two slighter signs of less blood together: off as well. One such
    sign, a tight edge, discomfort, a shoe that does not fit, or pain that has risen: loosen and
    look again. What was so before the bandage and is no worse is said, and asks for nothing.

    Parameters
    ----------
    answers : Mapping[str, str or int]
        Every box of `CHECK_BOXES` with one of its answers, and ``pain``, 0 to 10.
    baseline : Mapping[str, str or int or None]
        The same boxes of the toes, and ``pain``, before the bandage at this visit. What is left
        out was not looked at: anything bad then counts as new.
    policy : Policy
        Local policy: pain that counts, and minutes until the next look.

    Returns
    -------
    CheckVerdict

    Raises
    ------
    InputError
        If a box is not answered, or answered with what it does not offer.

    Notes
    -----
    Common practice, no source; that two slight signs count as a grave one is our choice.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> seen = {key: box.good for key, box in CHECK_BOXES.items()} | {"pain": 1}
    >>> judge_check(seen, seen, shipped_policy()).headline
    'The bandage may stay on'
    >>> judge_check(seen | {"warmth": "cold"}, seen, shipped_policy()).headline
    'TAKE IT OFF NOW'
    """
    _require_answered(answers)
    failed: list[Failed] = []
    as_before: list[Said] = []
    slight_of_blood = 0
    for key, box in CHECK_BOXES.items():
        now, before = str(answers[key]), baseline.get(key)
        seen = box.answers[now]
        if seen is Seen.GOOD:
            continue
        if _no_worse(box, now, before) and seen is not Seen.GRAVE_ALWAYS:
            as_before.append(_seen(box, Said(now)))
            continue
        compared = _compared(box.label, Said(now), before, key)
        said = compared if box in TOES else _seen(box, Said(now))
        failed.append(Failed(key, said, seen in _GRAVE))
        slight_of_blood += box.of_blood
    failed += _pain(int(answers["pain"]), baseline.get("pain"), policy)
    grave = any(one.grave for one in failed) or slight_of_blood >= _SLIGHT_SIGNS_THAT_COUNT
    verdict = Verdict.TAKE_OFF if grave else Verdict.LOOSEN if failed else Verdict.GOOD
    return CheckVerdict(
        verdict=verdict,
        headline=HEADLINES[verdict],
        failed=tuple(sorted(failed, key=lambda one: not one.grave)),
        as_before=tuple(as_before),
        what_next=words.what_next(verdict.value, policy),
    )


def _require_answered(answers: Mapping[str, str | int]) -> None:
    open_boxes = tuple(
        Said(box.label) for key, box in CHECK_BOXES.items() if answers.get(key) not in box.answers
    )
    if open_boxes:
        raise InputError(
            Said(
                "Answer every box; still open: {boxes}.", {"boxes": Several(open_boxes, SEMICOLON)}
            )
        )
    pain = str(answers.get("pain", ""))
    if not (pain.isascii() and pain.isdecimal()) or int(pain) > PAIN_MOST:
        raise InputError(
            Said(
                "Pain must be a whole number, 0 to {most}; received {pain}: ask again.",
                {"most": PAIN_MOST, "pain": repr(pain[:20])},
            )
        )


def _no_worse(box: CheckBox, now: str, before: str | int | None) -> bool:
    """True where the toes were looked at before the bandage and were as bad."""
    return before in box.answers and box.rank(now) <= box.rank(str(before))


def _seen(box: CheckBox, now: Said) -> Said:
    return Said("{label}: {now}", {"label": Said(box.label), "now": now}, box.key)


def _compared(label: str, now: Value, before: str | int | None, key: str) -> Said:
    """What is seen now beside what was seen before the bandage; pain is a number."""
    values: dict[str, Value] = {"label": Said(label), "now": now}
    if before is None:
        return Said("{label}: {now} (not looked at before the bandage)", values, key)
    values["before"] = Said(before) if isinstance(before, str) else before
    return Said("{label}: {now} (before the bandage {before})", values, key)


def _pain(now: int, before: str | int | None, policy: Policy) -> list[Failed]:
    """Pain that is severe and new is grave; severe as before, or risen above the limit, fails."""
    severe = now >= policy["pain_severe_from"]
    risen = before is None or now > int(before)
    if not severe and not (risen and now > policy["pain_bad_above"]):
        return []
    return [Failed("pain", _compared(PAIN_LABEL, now, before, "pain"), severe and risen)]
