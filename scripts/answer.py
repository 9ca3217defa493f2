"""Answers a question in every shipped case: ``python scripts/answer.py leg.findings.burn false``.

The examples, the practice legs and the case of docs/case.md say everything that the rules need, so
that they can be planned. A rule with a question of its own leaves them unanswered.
"""

import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def answered(text: str, path: str, value: str) -> str:
    r"""The text of a case with the question at a path answered, once in every table it belongs to.

    Examples
    --------
    >>> answered("[legs.left.findings]\nsepsis = false\n", "leg.findings.burn", "false")
    '[legs.left.findings]\nburn = false\nsepsis = false\n'
    """
    table, _dot, key = path.rpartition(".")
    table = re.sub(r"^leg\b", r"legs.(?:right|left)", table).replace(".(", r"\.(")
    header = re.compile(rf"^\[{table}\]\n(?!(?:(?!\[).*\n)*?{key} = )", re.M)
    return header.sub(lambda found: f"{found.group(0)}{key} = {value}\n", text)


def cases() -> Iterator[Path]:
    """Every file that holds a shipped case."""
    for path in (*ROOT.glob("examples/**/*.toml"), *ROOT.glob("src/gaiter/data/practice/*.toml")):
        if 'schema = "gaiter.case/1"' in path.read_text():
            yield path
    yield ROOT / "docs/case.md"


if __name__ == "__main__":
    for case in cases():
        case.write_text(answered(case.read_text(), *sys.argv[1:3]))
