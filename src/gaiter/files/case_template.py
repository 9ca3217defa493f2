"""An empty case to fill in, written from the record itself."""

import re
from textwrap import wrap

from gaiter.files.case_fields import MATERIAL, CaseField, CaseTable, case_tables, materials

REQUIRED, OPTIONAL = "#! ", "#? "
_WIDTH = 98
_NO_BREAK = "\u00a0"
_HEAD = """\
# A case, gaiter.case/1: one person, one or two legs, one day. Nothing in it identifies a person.
#
# Lines that begin with "#!" are required, those with "#?" are not: write the value after the = and
# take the mark away. Where the line in [ ] has a mark itself, it goes with the first line below it.
# To decide only (gaiter safety), of all that is required the day is enough.
# A finding that is left out was not looked at; it is never taken as absent.
# Lengths in cm, pressures in mmHg. Numbers, dates, true and false stand without quotation marks,
# words with them.
"""
_FOOT = """
# The other leg has the same tables under legs.left instead of legs.right; a person with one leg
# to bandage needs only that one.
"""


def case_template() -> str:
    """TOML with every field of a case, its allowed values beside it.

    It reads back as a case once every required line is filled in and its mark taken away.
    """
    parts = [_HEAD, *(_table(table) for table in case_tables() if table.fields), _FOOT]
    return "".join(parts)


def _table(table: CaseTable) -> str:
    lines: list[str] = []
    if table.path:
        lines += ["", *_comment(table.about)]
        if MATERIAL in table.path:
            lines += _comment(f"{MATERIAL} is one of: {', '.join(materials())}")
        mark = REQUIRED if table.required else OPTIONAL
        lines.append(f"{'' if table.may_stand_empty else mark}{table.heading}")
    for field in table.fields:
        lines += _field(field)
    return "\n".join(lines) + "\n"


def _field(field: CaseField) -> list[str]:
    about = f"{field.about}: {field.allowed}" if field.about else field.allowed
    if field.unless:
        about += f" (required unless {field.unless})"
    if field.name == "schema":
        return [f"schema = {field.allowed}"]
    mark = REQUIRED if field.required else OPTIONAL
    return [*_comment(about, indent="#     "), f"{mark}{field.name} ="]


def _comment(text: str, indent: str = "# ") -> list[str]:
    # A value in quotation marks stays on one line, as it is to be typed.
    kept = re.sub(r'"[^"]*"', lambda value: value[0].replace(" ", _NO_BREAK), text)
    lines = wrap(kept, _WIDTH, initial_indent=indent, subsequent_indent=indent)
    return [line.replace(_NO_BREAK, " ") for line in lines]
