"""What a reader is refused is a template with its values: a sentence built on the spot has no
translation.

Read from the program's text, so that a new refusal is found before anybody meets it.
"""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src/gaiter"
# What only a terminal shows is English by intent: the command line, whoever runs the server, and
# the files that neither a page nor a form takes.
TERMINAL = (
    "cli/", "operations/", "api/", "records/keys.py", "records/append_only.py",
    "records/migrations/",
    # A clinic's list of systems is judged when the server starts.
    "core/plan/system_catalogue.py",
    # What refuses a template cannot be one.
    "core/words.py",
)  # fmt: skip
TERMINAL_FILES = tuple(
    f"files/{name}.py"
    for name in (
        "applied_file", "cluster", "cohort_file", "extras", "plan_file", "policy_file",
        "prices_file", "study_folder", "study_run", "systems_file",
    )
)  # fmt: skip
# Where the sentence stands among what each is given.
PLACE = {"Said": 0, "FieldError": 1, "Problem": 1}


def modules() -> list[Path]:
    """Modules whose refusals a page may show."""
    return [
        path
        for path in sorted(SOURCE.rglob("*.py"))
        if not str(path.relative_to(SOURCE)).startswith((*TERMINAL, *TERMINAL_FILES))
    ]


@cache
def kinds() -> frozenset[str]:
    """Errors that a reader is told of, by name: the first and all made of it."""
    bases = {
        node.name: {getattr(base, "id", "") for base in node.bases}
        for path in SOURCE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.ClassDef)
    }
    found = {"InputError"}
    while more := {name for name, above in bases.items() if above & found} - found:
        found |= more
    return frozenset(found)


def built_sentences(text: str) -> Iterator[str]:
    """Every sentence that is built on the spot and handed to what a reader is told."""
    for owner in ast.walk(ast.parse(text)):
        if isinstance(owner, ast.FunctionDef):
            validates = any("validator" in ast.unparse(by) for by in owner.decorator_list)
            yield from _built_in(owner, kinds() | ({"ValueError"} if validates else set()))
        if isinstance(owner, ast.ClassDef) and owner.name in kinds():
            for node in ast.walk(owner):
                if isinstance(node, ast.Call) and ast.unparse(node.func) == "super().__init__":
                    yield from (ast.unparse(arg) for arg in node.args[:1] if _is_built(arg))


def _built_in(owner: ast.FunctionDef, errors: frozenset[str]) -> Iterator[str]:
    local = {
        target.id: node.value
        for node in ast.walk(owner)
        if isinstance(node, ast.Assign)
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    for node in ast.walk(owner):
        name = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
        if isinstance(node, ast.Call) and (name in errors or name in PLACE):
            for given in node.args[PLACE.get(name, 0) :][:1]:
                sentence = local.get(given.id, given) if isinstance(given, ast.Name) else given
                if _is_built(sentence):
                    yield ast.unparse(sentence)


def _is_built(sentence: ast.expr) -> bool:
    match sentence:
        case ast.JoinedStr():
            return True
        case ast.BinOp(left=one, right=other) | ast.IfExp(body=one, orelse=other):
            return _is_built(one) or _is_built(other)
        case ast.Call(func=ast.Attribute(attr="join" | "format", value=ast.Constant())):
            return True
    return False


@pytest.mark.parametrize(
    "line",
    [
        'raise InputError(f"at most {most}")', 'raise InputError("a" if x else f"{y}")',
        'raise FieldError("path", f"at most {most}")', 'Problem("path", "at most " + f"{most}")',
        'words = f"at most {most}"\n    raise InputError(words)', 'Said(f"at most {most}")',
        'raise InputError("; ".join(texts))', 'raise NotAllowedError(f"{who} may not")',
        'raise InputError("at most {most}".format(most=3))',
    ],
)  # fmt: skip
def test_a_sentence_built_on_the_spot_is_found(line: str) -> None:
    assert list(built_sentences(f"def f():\n    {line}"))


@pytest.mark.parametrize(
    "line",
    [
        'raise InputError(Said("at most {most}", {"most": f"{most:g}"}))',
        'raise InputError("give one")', 'raise InputError(_("at most {n}").format(n=3))',
        'raise ValueError(f"a fault of the program: {n}")', 'Problem(f"line {n}", said)',
    ],
)  # fmt: skip
def test_a_template_is_none(line: str) -> None:
    assert list(built_sentences(f"def f():\n    {line}")) == []


def test_a_record_that_refuses_a_value_is_read_too() -> None:
    text = "class R(Record):\n    @model_validator(mode='after')\n    def f(self):\n        {}"
    assert list(built_sentences(text.format('raise ValueError(f"{self.x}")')))


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(SOURCE)))
def test_no_refusal_is_built_on_the_spot(path: Path) -> None:
    assert list(built_sentences(path.read_text("utf-8"))) == []
