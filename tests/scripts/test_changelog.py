"""Fragments become a section of the changelog."""

import pytest

from scripts.changelog import ROOT, fragments, release, section


def test_the_fragments_of_this_repository_are_well_named() -> None:
    assert fragments(ROOT / "changelog.d")


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("rooms.md", "x", "rooms.md must end in one of .added.md, .changed.md"),
        ("rooms.new.md", "x", "must end in one of"),
        ("rooms.added.md", "one\ntwo\n", "must hold one paragraph on one line"),
    ],
)
def test_a_fragment_named_otherwise_is_refused(tmp_path, name, text, sentence) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(ValueError, match=sentence):
        fragments(tmp_path)


def test_a_release_moves_the_fragments_above_older_entries(tmp_path) -> None:
    folder = tmp_path / "changelog.d"
    folder.mkdir()
    (folder / "b.fixed.md").write_text("Mended.\n")
    (folder / "a.added.md").write_text("New.\n")
    (tmp_path / "CHANGELOG.md").write_text("# Changelog\n\n## 0.1\n\n- Old.\n")
    release("0.2", tmp_path)
    assert (tmp_path / "CHANGELOG.md").read_text() == (
        "# Changelog\n\n## 0.2\n\n### Added\n- New.\n\n### Fixed\n- Mended.\n\n## 0.1\n\n- Old.\n"
    )
    assert list(folder.iterdir()) == []


def test_kinds_without_a_fragment_have_no_heading(tmp_path) -> None:
    (tmp_path / "a.added.md").write_text("New.\n")
    assert "Fixed" not in section("0.2", fragments(tmp_path))
