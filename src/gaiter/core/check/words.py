"""What is said about a bandage that must come off, on every page, sheet and paper.

One list each: the check page, the alarm of a leg, the steps, the printed sheet and the leaflet
ask these.
"""

from gaiter.core.policy import Policy
from gaiter.core.words import Said

TAKE_IT_OFF_NOW = "TAKE IT OFF NOW"
LOOSEN_IT = "Loosen it and look again"
MAY_STAY = "The bandage may stay on"
LOOK_AGAIN = "It is off: look at the toes again"
LOOSENED = "It was loosened: look again"
HANDED_OVER = "Handed over as an emergency: do not bandage"
VASCULAR_EMERGENCY = "SAME-DAY VASCULAR EMERGENCY"

# For whoever bandages. Common practice; loss of blood and clot as in the red-flag screen.
DO_NOT_BANDAGE_IF = (
    "pain at rest in the foot, or new pain",
    "toes cold, pale, white, blue or grey, or without feeling",
    "spreading redness or heat, fever, feeling ill",
    "calf suddenly swollen and tender: a clot?",
    "breathless lying flat, or heavier by days",
)

# For whoever checks; what `judge_check` calls grave, in words.
STAFF_TAKES_IT_OFF_IF = (
    "toes white, blue or grey, or paler than before the bandage",
    "toes newly cold, numb, or not moving",
    "severe pain that has risen",
)

# The same on the printed sheet, where the clinic's minutes are not known.
SHEET_OFF_NEXT = (
    "All of it, ask nobody first. Look again after ten minutes: not as before the bandage is a "
    "same-day vascular emergency.",
    "A tight edge or discomfort alone: loosen, look again in ten minutes; not good then: off.",
)

# For the patient. Therapeutic Guidelines Australia, ulcer and wound management.
TAKE_IT_OFF_IF = (
    "your toes turn pale, white, blue or grey, or feel cold",
    "your foot tingles, goes numb, or you cannot move your toes",
    "it hurts, most of all over a bone or at night, or feels much too tight",
)

# Signs of a clot, a clot in the lung, a failing heart. Common practice, no source.
EMERGENCY_IF = (
    "your chest hurts",
    "you are suddenly breathless",
    "your calf suddenly swells and hurts",
    "your toes stay white, blue, cold or numb ten minutes after the bandage is off",
)

CALL_IF = (
    "you are breathless lying flat, or wake up gasping",
    "you have a fever or feel ill, or redness spreads",
    "fluid comes through, or the bandage slips or loosens",
)

CUT_IT_OFF = (
    "Sit down with the leg in front of you.",
    "Use scissors with blunt tips. Start at the top edge, on the outer side of your leg.",
    "Cut downwards a little at a time, away from the shin and the wound; keep the blunt tip under "
    "the bandage, flat along the skin.",
    "Cover the wound with something clean. Do not bandage it again yourself.",
)

ANYONE_MAY = "Anyone may always loosen this bandage or take it off."


def what_next(verdict: str, policy: Policy) -> tuple[Said, ...]:
    """What to do after a verdict, in order.

    Parameters
    ----------
    verdict : str
        A value of `Verdict`.
    policy : Policy
        Minutes until the next look, and of walking.

    Returns
    -------
    tuple[str, ...]
        Sentences.

    Notes
    -----
    Common practice, no source; the ten minutes are our choice.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> what_next("take it off now", shipped_policy())[0].text
    'Take the whole bandage off, wool and all. Ask nobody first.'
    """
    again = {"again": policy["check_again_min"]}
    if verdict == "take it off now":
        return (
            Said(
                "Take the whole bandage off, wool and all. Ask nobody first.", code="take_all_off"
            ),
            Said(
                "{again:g} minutes later look at colour, warmth, feeling, movement and pain, and "
                "say here what you saw.",
                again,
                "look_after",
            ),
            Said(
                "Not as before the bandage after {again:g} minutes: it is a same-day vascular "
                "emergency. Call at once.",
                again,
                "not_as_before",
            ),
            Said("Tell the prescriber, who decides only what follows.", code="tell_prescriber"),
        )
    if verdict == "loosen and look again":
        return (
            Said(
                "Loosen the edge or the turn that presses; a shoe that does not fit is changed.",
                code="loosen",
            ),
            Said(
                "Look again in {again:g} minutes. Not good then: take it off.", again, "look_again"
            ),
        )
    return (
        Said(
            "Check again after {low:g} to {high:g} minutes' walking where the person walks.",
            {"low": policy["check_walk_from_min"], "high": policy["check_walk_to_min"]},
            "walk",
        ),
    )


def look_again_words(policy: Policy) -> Said:
    """The question of the look after taking off.

    Parameters
    ----------
    policy : Policy
        Minutes until that look.

    Returns
    -------
    str

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> look_again_words(shipped_policy()).text.startswith("10 minutes after it came off")
    True
    """
    return Said(
        "{again:g} minutes after it came off: are colour, warmth, feeling, movement and pain as "
        "they were before the bandage?",
        {"again": policy["check_again_min"]},
        "as_before",
    )


EMERGENCY_NEXT = (
    "The toes have not come back. Leave the bandage off. The leg lies flat, neither raised nor "
    "warmed.",
    "Telephone the vascular team on call now, or the emergency number: the person is seen today.",
    "Say here to whom the person was handed over.",
)

HANDED_OVER_NEXT = (
    "No bandage until a prescriber has heard from the vascular team and clears the leg here.",
)
