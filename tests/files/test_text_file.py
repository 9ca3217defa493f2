"""What can be wrong with a file before its fields are looked at."""

import os
import threading
from pathlib import Path

import pytest

from gaiter.files.text_file import LARGEST_BYTES, parsed_file
from gaiter.files.wording import FileError


def test_a_byte_order_mark_is_no_content(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\n")
    assert parsed_file(path).mapping == {"a": 1}


@pytest.mark.parametrize("content", ['{"a": 1, "a": 2}', '{"b": {"a": 1, "a": 1}}'])
def test_a_json_key_given_twice_is_refused(tmp_path: Path, content: str) -> None:
    path = tmp_path / "case.json"
    path.write_text(content)
    with pytest.raises(FileError, match="a is given twice: leave one out"):
        parsed_file(path)


def test_a_toml_key_given_twice_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text("a = 1\nb = 2\na = 3\n")
    with pytest.raises(FileError, match="not well-formed: .* line 3"):
        parsed_file(path)


@pytest.mark.parametrize(
    ("name", "content", "place"),
    [("c.toml", "a = 1\nb = 22,5\n", "line 2"), ("c.json", '{"a": 1,\n"b": }', "line 2")],
)
def test_malformed_text_is_refused_with_its_line(tmp_path, name, content, place) -> None:
    path = tmp_path / name
    path.write_text(content)
    with pytest.raises(FileError, match=place):
        parsed_file(path)


def test_json_is_known_by_its_content(tmp_path: Path) -> None:
    path = tmp_path / "case"
    path.write_text('{"a": 1}')
    assert parsed_file(path).mapping == {"a": 1}


def test_the_largest_file_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"#" * (LARGEST_BYTES - 1) + b"\n")
    assert parsed_file(path).mapping == {}
    path.write_bytes(b"#" * LARGEST_BYTES + b"\n")
    with pytest.raises(FileError, match="at most 1000 kB"):
        parsed_file(path)


def test_a_pipe_without_an_end_is_not_read_to_the_end(tmp_path: Path) -> None:
    """A device or a pipe has no size to ask for; more than the limit is never taken in."""
    path = tmp_path / "pipe"
    os.mkfifo(path)

    def pour() -> None:
        try:
            with path.open("wb", buffering=0) as stream:
                while True:
                    stream.write(b"#" * 65536)
        except BrokenPipeError:
            return

    thread = threading.Thread(target=pour, daemon=True)
    thread.start()
    with pytest.raises(FileError, match="at most 1000 kB; received more"):
        parsed_file(path)
    thread.join(timeout=10)
    assert not thread.is_alive()


@pytest.mark.parametrize("path", [Path("."), Path("/")])
def test_a_folder_is_no_file(path: Path) -> None:
    with pytest.raises(FileError, match=r"^[./]+: cannot be read .Is a directory"):
        parsed_file(path)


def test_half_of_a_character_is_refused_and_a_whole_one_is_read(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text('{"a": ["leg \\uD800"]}')
    with pytest.raises(FileError, match="a text holds half of a character: type it again"):
        parsed_file(path)
    path.write_text('{"a": "leg \\uD83E\\uDDB5"}')
    assert parsed_file(path).mapping == {"a": "leg \U0001f9b5"}
