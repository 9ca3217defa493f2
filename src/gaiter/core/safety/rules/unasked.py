"""What has not been asked: every question that can stop, wait or cap is asked.

The questions are those that the other rules need; nothing here names one.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from pydantic import BaseModel

from gaiter.core.safety.questions import label_of
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    CHOICE,
    CONSENSUS,
    GUIDELINE,
    IMMEDIATE,
    OURS,
    RABE,
    Fields,
    Rule,
    Scene,
    Subject,
    When,
)
from gaiter.core.words import SEMICOLON, words


def value_at(scene: Scene, path: str) -> Any:
    """Answer at a path (``person.``, ``arms.`` or ``leg.``); None where nothing was said.

    Parameters
    ----------
    scene : Scene
        The leg.
    path : str
        Of the question.

    Returns
    -------
    object

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> scene = Scene.where({"person.age_years": 70}, shipped_policy())
    >>> value_at(scene, "person.age_years"), value_at(scene, "leg.wound.depth")
    (70, None)
    """
    top, *parts = path.split(".")
    place: Any = scene.leg if top == "leg" else getattr(scene.case, top)
    for part in parts:
        if place is None:
            return None
        place = getattr(place, part) if isinstance(place, BaseModel) else None
    return place


def _unanswered(scene: Scene, paths: Iterable[str]) -> list[str]:
    return [path for path in paths if value_at(scene, path) is None]


def _asks(paths: Sequence[str]) -> When:
    def when(scene: Scene) -> Fields | None:
        missing = _unanswered(scene, paths)
        return {"missing": words(map(label_of, missing), SEMICOLON)} if missing else None

    return when


def _caps(paths: Sequence[str]) -> When:
    def when(scene: Scene) -> Fields | None:
        missing = _unanswered(scene, paths)
        if not missing:
            return None
        cap = scene.policy["reduced_maximum_mmhg"]
        return {"missing": words(map(label_of, missing), SEMICOLON), "cap": cap}

    return when


def needed(rules: Iterable[Rule], *, red_flag: bool | None, only_caps: bool) -> tuple[str, ...]:
    """Paths of the questions that rules need, each once, in the order they are asked.

    Parameters
    ----------
    rules : iterable of Rule
        In the order they ask.
    red_flag : bool or None
        Only those of the red-flag screen, or only the others; None for both.
    only_caps : bool
        Whether those whose unanswered question caps, or those whose blocks.

    Returns
    -------
    tuple[str, ...]

    Examples
    --------
    >>> from gaiter.core.safety.rules import RULES
    >>> "leg.findings.gangrene" in needed(RULES.values(), red_flag=True, only_caps=False)
    True
    """
    return tuple(
        dict.fromkeys(
            path
            for rule in rules
            if rule.only_caps is only_caps and red_flag in (None, rule.red_flag)
            for path in rule.needs
        )
    )


def rules_for(rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """The three rules about what was not asked, made from what the others need.

    Parameters
    ----------
    rules : sequence of Rule
        The others.

    Returns
    -------
    tuple[Rule, ...]
        What stops the screen, what is missing beside it, and what only caps.

    Examples
    --------
    >>> [rule.code for rule in rules_for(())]
    ['screen_incomplete', 'not_asked', 'not_asked_caps']
    """
    screen = needed(rules, red_flag=True, only_caps=False)
    others = tuple(
        path for path in needed(rules, red_flag=False, only_caps=False) if path not in screen
    )
    capping = needed(rules, red_flag=None, only_caps=True)
    return (
        Rule(
            "screen_incomplete", Subject.RED_FLAGS, RuleKind.FIRST,
            "The red-flag screen is not complete. Ask and say: {missing}. No compression until "
            "then.",
            IMMEDIATE, GUIDELINE,
            when=_asks(screen), reads=screen,
        ),
        Rule(
            "not_asked", Subject.PERSON, RuleKind.FIRST,
            "Not asked or looked at yet: {missing}.",
            f"{RABE}; NICE CKS venous leg ulcer, restated", CONSENSUS,
            when=_asks(others), reads=others, provisional=True,
        ),
        Rule(
            "not_asked_caps", Subject.VESSELS, RuleKind.CAP,
            "Not said: {missing}. At most {cap:g} mmHg until it is.",
            OURS, CHOICE,
            when=_caps(capping), reads=capping,
        ),
    )  # fmt: skip
