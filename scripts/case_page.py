"""Writes the lists of docs/case.md from the record: ``python scripts/case_page.py``."""

from pathlib import Path

from gaiter.files.case_fields import MATERIAL, CaseTable, case_tables, materials, required_paths

PAGE = Path(__file__).resolve().parent.parent / "docs/case.md"
BEGIN = "<!-- From here on written by scripts/case_page.py from the record of a case. -->"
END = "<!-- To here. -->"


def lists() -> str:
    """What is required, and every table with every field and its allowed values."""
    lines = [BEGIN, "", "## What a plan needs", ""]
    unless = {f.path: f.unless for table in case_tables() for f in table.fields}
    for path in required_paths():
        lines.append(f"- `{path}`" + (f", unless `{unless[path]}`" if unless[path] else ""))
    lines += [
        "",
        "Two legs are two tables, `legs.right` and `legs.left`; each needs what is listed. A "
        "decision alone (`gaiter safety`) needs `schema`, `today` and one leg.",
        "",
        "## Every field",
        "",
        f"`{MATERIAL}` is one of {', '.join(f'`{name}`' for name in materials())}.",
    ]
    for table in case_tables():
        if table.fields:
            lines += _table(table)
    return "\n".join([*lines, "", END])


def _table(table: CaseTable) -> list[str]:
    heading = f"`{table.heading}`" if table.path else "At the top"
    needed = "" if table.required else " (may be left out)"
    lines = ["", f"### {heading}{needed}", "", table.about.replace("``", "`"), ""]
    lines += ["| Field | Allowed | Meaning |", "|---|---|---|"]
    for field in table.fields:
        mark = " **required**" if field.required else ""
        lines.append(f"| `{field.name}`{mark} | {field.allowed} | {field.about} |")
    return lines


def page(text: str) -> str:
    """The page with its lists as the record has them now."""
    before, _begin, rest = text.partition(BEGIN)
    _old, _end, after = rest.partition(END)
    return f"{before}{lists()}{after}"


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text()))
