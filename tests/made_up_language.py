"""A made-up language: the letters of every msgid in fullwidth, what stands in braces as it is.

Whatever reaches a reader of it in ordinary letters was never translated, or is a name, a number
or what somebody typed.
"""

import re

_KEPT = re.compile(r"(\{[^}]*\}|%\([^)]*\)\w|%[\d.]*\w)")
_LETTERS = {code: code + 0xFEE0 for code in (*range(0x41, 0x5B), *range(0x61, 0x7B))}


def made_up(msgid: str) -> str:
    """The msgid in the made-up language.

    >>> made_up("At most {cap:g} mmHg")
    'Ａｔ ｍｏｓｔ {cap:g} ｍｍＨｇ'
    """
    return "".join(
        part if _KEPT.fullmatch(part) else part.translate(_LETTERS) for part in _KEPT.split(msgid)
    )


def ordinary_letters(text: str) -> list[str]:
    """What stands in ordinary letters."""
    return re.findall(r"[A-Za-z]+", text)
