"""Prints the fragments of ``changelog.d`` as one section, or moves them into the changelog.

python scripts/changelog.py [VERSION]
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
KINDS = ("added", "changed", "fixed", "removed")


def fragments(folder: Path) -> dict[str, list[Path]]:
    """Fragments of a folder by kind, each kind in the order of their names.

    Raises
    ------
    ValueError
        If a file is named otherwise than ``<words>.<kind>.md`` or holds more than a paragraph.
    """
    found: dict[str, list[Path]] = {kind: [] for kind in KINDS}
    for path in sorted(folder.glob("*.md")):
        if path.name == "README.md":
            continue
        words, _dot, kind = path.stem.rpartition(".")
        if not words or kind not in KINDS:
            raise ValueError(
                f"{path.name} must end in one of .{'.md, .'.join(KINDS)}.md: rename it"
            )
        if len(path.read_text().strip().splitlines()) != 1:
            raise ValueError(f"{path.name} must hold one paragraph on one line: shorten it")
        found[kind].append(path)
    return found


def section(title: str, found: dict[str, list[Path]]) -> str:
    """The fragments under one heading."""
    parts = [f"## {title}"]
    for kind, paths in found.items():
        if paths:
            lines = [f"- {path.read_text().strip()}" for path in paths]
            parts.append(f"### {kind.capitalize()}\n" + "\n".join(lines))
    return "\n\n".join(parts) + "\n"


def release(version: str, root: Path) -> None:
    """Moves every fragment into the changelog, under a version, above the older entries."""
    found = fragments(root / "changelog.d")
    log = root / "CHANGELOG.md"
    head, mark, rest = log.read_text().partition("\n## ")
    log.write_text(f"{head}\n{section(version, found)}{mark}{rest}")
    for paths in found.values():
        for path in paths:
            path.unlink()


if __name__ == "__main__":
    if len(sys.argv) > 1:
        release(sys.argv[1], ROOT)
    else:
        print(section("Unreleased", fragments(ROOT / "changelog.d")), end="")  # noqa: T201 # a command
