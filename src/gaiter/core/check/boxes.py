"""The boxes of toes and fit: asked before the bandage, after it, and printed on the sheet.

One list. The visit's ``toes.*`` boxes, the check page, the steps and the sheet ask it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

# Whole numbers, 0 for none.
PAIN_MOST = 10


class Seen(StrEnum):
    """How grave one answer is under a bandage.

    Examples
    --------
    >>> Seen.GRAVE.value
    'grave'
    """

    GOOD = "good"
    WATCH = "watch"
    GRAVE = "grave"
    # Grave whatever was seen before the bandage.
    GRAVE_ALWAYS = "grave always"


@dataclass(frozen=True)
class CheckBox:
    """One box of the check.

    Attributes
    ----------
    key : str
        Short name; for a box of the toes it is the last part of the visit's path ``toes.key``.
    label : str
        What is looked at, in words that work on dark skin.
    tick : str
        The same as one line of the printed sheet: what is seen when it is good.
    answers : Mapping[str, Seen]
        What may be seen, from good to bad, and how grave it is. Common practice, no source.
    of_blood : bool
        True where the answer tells of the blood that reaches the toes.

    Examples
    --------
    >>> CHECK_BOXES["warmth"].answers["cold"] is Seen.GRAVE
    True
    """

    key: str
    label: str
    tick: str
    answers: Mapping[str, Seen]
    of_blood: bool = False

    @property
    def good(self) -> str:
        """The answer that is good.

        Returns
        -------
        str

        Examples
        --------
        >>> CHECK_BOXES["warmth"].good
        'warm'
        """
        return next(iter(self.answers))

    def rank(self, answer: str) -> int:
        """Place of an answer from good (0) to worst.

        Parameters
        ----------
        answer : str
            One of its answers.

        Returns
        -------
        int

        Raises
        ------
        ValueError
            If the box does not offer that answer.

        Examples
        --------
        >>> CHECK_BOXES["warmth"].rank("cold")
        2
        """
        return list(self.answers).index(answer)


_YES_NO = {"yes": Seen.GOOD, "no": Seen.WATCH}

TOES = (
    CheckBox(
        "colour",
        "Toe colour against the other foot (nail bed and sole on dark skin)",
        "Toe colour like the other foot (nail bed and sole on dark skin)",
        {
            "same": Seen.GOOD,
            "redder": Seen.WATCH,
            "paler": Seen.GRAVE,
            "greyer": Seen.GRAVE_ALWAYS,
            "bluer": Seen.GRAVE_ALWAYS,
            "white": Seen.GRAVE_ALWAYS,
        },
        of_blood=True,
    ),
    CheckBox(
        "refill",
        "Colour back after a press",
        "Colour back within 2 to 3 seconds of a press",
        {"within 2 to 3 seconds": Seen.GOOD, "slower": Seen.WATCH},
        of_blood=True,
    ),
    CheckBox(
        "warmth",
        "Toes feel",
        "Toes warm",
        {"warm": Seen.GOOD, "cool": Seen.WATCH, "cold": Seen.GRAVE},
        of_blood=True,
    ),
    CheckBox(
        "feeling",
        "Touch is felt on",
        "Feels touch on every toe",
        {"every toe": Seen.GOOD, "some toes": Seen.GRAVE, "no toe": Seen.GRAVE},
    ),
    CheckBox(
        "movement",
        "Moves",
        "Moves every toe",
        {"every toe": Seen.GOOD, "some toes": Seen.GRAVE, "no toe": Seen.GRAVE},
    ),
)

FIT = (
    CheckBox(
        "fingers",
        "Two fingers go under the top edge",
        "Two fingers go under the top edge",
        _YES_NO,
    ),
    CheckBox(
        "comfort",
        "Comfortable, and nothing rubs",
        "Comfortable, and nothing rubs",
        _YES_NO,
    ),
    CheckBox("shoe", "Shoe or boot fits", "Shoe or boot fits", _YES_NO),
)

CHECK_BOXES: Mapping[str, CheckBox] = {box.key: box for box in (*TOES, *FIT)}
PAIN_LABEL = "Pain, 0 to 10"
