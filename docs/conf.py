"""How Sphinx builds the documentation: ``./check docs``."""

from importlib.metadata import version as installed_version
from pathlib import Path

project = "Gaiter"
author = "Gaiter maintainers"
project_copyright = "2026, the Gaiter contributors"
version = release = installed_version("gaiter")

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown", ".rst": "restructuredtext"}
html_theme = "furo"
html_title = f"Gaiter {release}"
myst_heading_anchors = 3

autodoc_member_order = "bysource"
autodoc_typehints = "none"  # docstrings say types, in words
autodoc_default_options = {"members": True}
# Types in docstrings are words ("float or None", "ndarray, shape (rings,)"): no page to lead to,
# or several. What a text refers to on purpose, :func:`gaiter...` and the like, has to be there.
nitpick_ignore_regex = [
    ("py:class", r"(?!gaiter\.).*"),
    ("py:class", r"gaiter\..*\._\w+"),  # private, as an annotation shows it
    ("py:exc", r"(?!gaiter\.).*"),
]
# Pages link to folders of the repository too; a test holds that every link leads somewhere.
suppress_warnings = ["ref.python", "myst.xref_missing"]

_DOCS = Path(__file__).parent
_SOURCE = _DOCS.parent / "src"


def _write_rooms(_app: object) -> None:
    """A page for every room of the core and for the files, with each of their modules."""
    folder = _DOCS / "api/rooms"
    folder.mkdir(exist_ok=True)
    core = _SOURCE / "gaiter/core"
    rooms = [*(path for path in core.iterdir() if (path / "__init__.py").exists())]
    for room in [*sorted(rooms), _SOURCE / "gaiter/files"]:
        _write(folder / f"{room.name}.rst", room, sorted(room.rglob("*.py")))
    alone = [path for path in sorted(core.glob("*.py")) if path.name != "__init__.py"]
    _write(folder / "core.rst", core, [core / "__init__.py", *alone])


def _write(page: Path, room: Path, modules: list[Path]) -> None:
    title = ".".join(room.relative_to(_SOURCE).parts)
    lines = [title, "=" * len(title), ""]
    for path in modules:
        parts = path.relative_to(_SOURCE).with_suffix("").parts
        if parts[-1] == "__init__":
            # What a room offers under its own name stands in the module where it is written.
            lines += [f".. automodule:: {'.'.join(parts[:-1])}", "   :no-members:", ""]
        else:
            name = ".".join(parts)
            short = name.removeprefix(f"{title}.")
            lines += [short, "-" * len(short), "", f".. automodule:: {name}", ""]
    text = "\n".join(lines)
    # A page that stays the same keeps its date, so that it is not built again.
    if not page.exists() or page.read_text() != text:
        page.write_text(text)


def setup(app: object) -> None:
    """Hooks the pages of the rooms in before anything is read."""
    app.connect("builder-inited", _write_rooms)  # type: ignore[attr-defined]
