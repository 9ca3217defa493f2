"""Signs are spelled where a terminal cannot show them."""

import ast
from pathlib import Path

from gaiter.cli.plain_text import ASCII_SPELLING, spelled

SOURCE = Path(__file__).parents[2] / "src/gaiter"


def test_known_signs_have_a_spelling_and_letters_lose_their_accents() -> None:
    assert spelled("aim 30–50 mmHg, ≤ 60 × 2, 12 cm²") == "aim 30-50 mmHg, <= 60 x 2, 12 cm2"
    assert spelled("Ærø, Müller, naïve") == "AEro, Muller, naive"
    assert spelled("plain") == "plain"
    assert spelled("腿") == "?"


def test_every_sign_of_a_text_in_the_core_and_the_command_line_has_a_spelling() -> None:
    """A question mark would hide what a number means."""
    for room in ("core", "cli", "files"):
        for path in (SOURCE / room).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    missing = {s for s in node.value if not s.isascii() and "?" in spelled(s)}
                    assert not missing, f"{path}: {missing}"
    assert all(text.isascii() for text in ASCII_SPELLING.values())
