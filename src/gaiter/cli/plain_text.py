"""Output for terminals that cannot show every sign: a spelling in ASCII, never a crash."""

import codecs
import sys
import unicodedata
from collections.abc import Mapping

ASCII_SPELLING: Mapping[str, str] = {
    "–": "-", "—": "-", "‐": "-", "−": "-", "…": "...", "×": "x", "±": "+/-", "·": ".",
    "≤": "<=", "≥": ">=", "≈": "~", "→": "->", "✓": "ok", "°": " deg", "²": "2", "³": "3",
    "‘": "'", "’": "'", "“": '"', "”": '"', "•": "*", "µ": "u",
    "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ß": "ss",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ",
}  # fmt: skip


def spelled(text: str) -> str:
    """A text in ASCII: known signs by their spelling, letters without accents, else ``?``."""
    return "".join(sign if sign.isascii() else _spelled_sign(sign) for sign in text)


def _spelled_sign(sign: str) -> str:
    if sign in ASCII_SPELLING:
        return ASCII_SPELLING[sign]
    plain = unicodedata.normalize("NFKD", sign)
    return "".join(part for part in plain if part.isascii()) or "?"


def _spell(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return spelled(error.object[error.start : error.end]), error.end


def never_fail_to_print() -> None:
    """From now on a sign that the terminal cannot show is spelled in ASCII."""
    codecs.register_error("gaiter.spelled", _spell)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="gaiter.spelled")
