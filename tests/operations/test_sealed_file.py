"""A sealed file opens as it was written, or says in one sentence that it does not."""

import io
import random
import tracemalloc

import pytest

from gaiter.operations import sealed_file
from gaiter.operations.sealed_file import MAGIC, BackupError, sealed_reader, sealed_writer

# Incompressible, so that it takes several pieces.
CONTENT = random.Random(1).randbytes(4000)
SPOILT = "was cut short or changed since it was written: use another copy"


@pytest.fixture
def small_pieces(monkeypatch):
    """Pieces of a thousand bytes: the file has five."""
    monkeypatch.setattr(sealed_file, "_PIECE", 1000)


@pytest.fixture
def file(small_pieces, tmp_path):
    path = tmp_path / "file"
    path.write_bytes(written(CONTENT))
    return path


def written(content: bytes) -> bytes:
    out = io.BytesIO()
    with sealed_writer(out) as stream:
        stream.write(content)
    return out.getvalue()


def read(path) -> bytes:
    with sealed_reader(path) as stream:
        return stream.read()


def pieces(whole: bytes) -> list[tuple[int, int]]:
    """Where each piece begins, its length before it, and where it ends."""
    found, at = [], len(MAGIC) + 16
    while at < len(whole):
        end = at + 4 + int.from_bytes(whole[at : at + 4], "big")
        found.append((at, end))
        at = end
    return found


def test_what_was_written_is_read(file) -> None:
    assert read(file) == CONTENT
    assert len(pieces(file.read_bytes())) == 5
    assert CONTENT[:40] not in file.read_bytes()


@pytest.mark.parametrize("length", [0, 1, 960, 1000, 1040, 2000])
def test_any_length_is_read_again(small_pieces, tmp_path, length) -> None:
    """Also where the last piece is full."""
    (tmp_path / "file").write_bytes(written(CONTENT[:length]))
    assert read(tmp_path / "file") == CONTENT[:length]


def test_every_single_bit_that_turns_is_noticed(file) -> None:
    """Format, name, and of every piece length, key's name, nonce, content and tag."""
    whole = file.read_bytes()
    turn = random.Random(2)
    for place in range(len(whole)):
        spoilt = bytearray(whole)
        spoilt[place] ^= 1 << turn.randrange(8)
        file.write_bytes(spoilt)
        with pytest.raises(BackupError) as refused:
            read(file)
        assert str(refused.value).count("\n") == 0
        assert str(file) in str(refused.value)


def test_every_length_that_it_is_cut_to_is_noticed(file) -> None:
    whole = file.read_bytes()
    for length in range(len(whole)):
        file.write_bytes(whole[:length])
        with pytest.raises(BackupError, match=f"is no backup|{SPOILT}"):
            read(file)


def test_whole_pieces_are_neither_left_out_nor_moved_nor_doubled(file) -> None:
    whole = file.read_bytes()
    head, found = whole[: len(MAGIC) + 16], pieces(whole)
    parts = [whole[start:end] for start, end in found]
    a, b, c, d, e = parts
    for order in (
        [b, a, c, d, e], [a, c, d, e], [a, b, c, d], [a, a, b, c, d, e],
        [a, b, c, d, e, e], [e], [a, b, c, d, e, a],
    ):  # fmt: skip
        file.write_bytes(head + b"".join(order))
        with pytest.raises(BackupError, match=SPOILT):
            read(file)


def test_a_piece_of_another_backup_under_the_same_key_is_noticed(file) -> None:
    whole, other = file.read_bytes(), written(CONTENT)
    (start, end), _ = pieces(whole)[1], pieces(other)[1]
    file.write_bytes(whole[:start] + other[start:end] + whole[end:])
    with pytest.raises(BackupError, match=SPOILT):
        read(file)


def test_a_length_that_promises_much_is_not_believed(file) -> None:
    whole = file.read_bytes()
    start, _end = pieces(whole)[0]
    tracemalloc.start()
    try:
        file.write_bytes(whole[:start] + b"\xff\xff\xff\xff" + whole[start + 4 :])
        with pytest.raises(BackupError, match=SPOILT):
            read(file)
        assert tracemalloc.get_traced_memory()[1] < 8 * 2**20
    finally:
        tracemalloc.stop()


def test_a_block_that_fails_leaves_a_file_that_does_not_open(small_pieces, tmp_path) -> None:
    out = io.BytesIO()

    def fails() -> None:
        with sealed_writer(out) as stream:
            stream.write(CONTENT)
            raise InterruptedError

    with pytest.raises(InterruptedError):
        fails()
    (tmp_path / "file").write_bytes(out.getvalue())
    with pytest.raises(BackupError, match=SPOILT):
        read(tmp_path / "file")
