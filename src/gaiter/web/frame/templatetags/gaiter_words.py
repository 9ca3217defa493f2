"""Words and numbers as pages show them."""

from datetime import date, datetime
from typing import Any

from django import template
from django.templatetags.i18n import do_block_translate, do_translate
from django.templatetags.static import do_static
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext

from gaiter.core.landmark import Landmark
from gaiter.core.units import CM_PER_INCH
from gaiter.core.words import Said
from gaiter.records.ledger import local_day
from gaiter.records.read.alarm import Alarm, open_alarm
from gaiter.records.words import in_language

register = template.Library()
# Every page is translated and styled, so every template knows these without loading them.
register.tag("trans", do_translate)
register.tag("blocktrans", do_block_translate)
register.tag("static", do_static)

_SIGNS = {
    "good": ("M3 10l5 5 9-11", "tick"),
    "watch": ("M10 2l9 16H1z M10 8v4 M10 15v1", "triangle"),
    # A clock: something waits, which is never a tick.
    "due": ("M10 1a9 9 0 1 0 0.01 0z M10 5v5l4 3", "clock"),
    "stop": ("M6 1h8l5 5v8l-5 5H6l-5-5V6z M10 5v6 M10 14v1", "octagon"),
}


@register.filter
def word(value: Any) -> str:
    """What the core says, a word or a whole sentence, in the reader's language."""
    return in_language(value if isinstance(value, Said) else str(value))


@register.filter
def day(value: date | datetime | None) -> str:
    """A day as the trade writes it, by the clinic's clock."""
    value = local_day(value) if isinstance(value, datetime) else value
    return f"{value.day} {gettext(f'{value:%b}')} {value.year}" if value else "–"


@register.filter
def length(value_cm: float | None, unit: str = "cm") -> str:
    """A length with its unit in the reader's own."""
    if value_cm is None:
        return "–"
    return f"{value_cm / CM_PER_INCH:.1f} in" if unit == "in" else f"{value_cm:.1f} cm"


@register.filter
def percent(share: float) -> str:
    """A share in per cent."""
    return f"{share:.0%}".replace("%", " %")


@register.filter
def signed(value: float) -> str:
    """A whole number with its sign."""
    whole = round(value)
    return f"{whole:+d}".replace("-", "−") if whole else "0"


@register.filter
def landmark(value: str) -> str:
    """The name of a place on the leg."""
    return gettext(Landmark(value).label)


@register.filter
def ident(path: str) -> str:
    """A path as an id of the page."""
    return path.replace(".", "-").replace("_", "-")


@register.simple_tag
def stretched(item: Any, material: Any) -> str:
    """Length of a roll at its usual stretch [cm]."""
    relaxed = item.relaxed_length_cm or material.relaxed_length_cm
    return f"{relaxed * (1 + material.usual_stretch):.0f}"


@register.simple_tag
def leg_alarm(episode: Any) -> Alarm | None:
    """What stands open about the bandage of a leg, for the top of every page about it.

    Asked once for each page: the episode of a request keeps the answer.
    """
    if not hasattr(episode, "shown_alarm"):
        episode.shown_alarm = open_alarm(episode)
    alarm: Alarm | None = episode.shown_alarm
    return alarm


@register.simple_tag
def sign(kind: str) -> SafeString:
    """Tick, triangle, octagon or clock; a word always stands beside it."""
    path, name = _SIGNS[kind]
    return format_html(
        '<svg class="sign sign-{}" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true" '
        'data-sign="{}"><path d="{}" fill="none" stroke="currentColor" stroke-width="2"/></svg>',
        kind, name, path,
    )  # fmt: skip
