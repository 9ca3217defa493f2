"""Sentences that every plan carries."""

from gaiter.core.words import Said

CAUTIONS = (
    Said(
        "For trained, licensed staff. Supports and never replaces assessment and local policy. Not "
        "a certified medical device."
    ),
    Said("Compression on a leg with poor arterial supply can cost the leg."),
    Said("Anyone may always loosen a bandage or take it off."),
)

LIMITS = (
    Said(
        "Static theory on a rigid surface: tissue, friction and walking sit in the theory "
        "remainder only."
    ),
    Said("Sections of the leg are estimated from girths."),
    Said(
        "Numbers for generic materials stand for their class. Confirm at the gaiter with a sensor "
        "where there is one."
    ),
)

SOURCES = (
    Said(
        "Pressure: tension over radius on the fitted surface; Thomas 2003 (girth formula), Al "
        "Khaburi 2011 (layers), Dale 2004 (addition of layers), Garrigues-Ramón 2021 "
        "(over-prediction)."
    ),
    Said("Leg proportions: Gordon et al. 2014, NATICK/TR-15/007."),
    Said("Hands: Zarchi & Jemec 2014, Keller 2009, Ehmann 2023."),
    Said("Safety: see each reason."),
)
