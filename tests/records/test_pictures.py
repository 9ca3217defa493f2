"""Pictures are decoded within bounds, and large ones of a telephone reduced while decoding."""

import io

import pytest
from PIL import Image, ImageFile

from gaiter.core.errors import InputError
from gaiter.records.pictures import cleaned


def written(size: tuple[int, int], kind: str, mode: str = "L", **options) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, 90).save(out, kind, **options)
    return out.getvalue()


@pytest.fixture
def decoded(monkeypatch):
    """Pixels of every picture that is decoded."""
    seen, load = [], ImageFile.ImageFile.load

    def noted(image):
        seen.append(image.width * image.height)
        return load(image)

    monkeypatch.setattr(ImageFile.ImageFile, "load", noted)
    return seen


def test_a_telephone_s_picture_is_reduced_while_it_is_read(decoded) -> None:
    mime, kept = cleaned(written((8064, 6048), "JPEG"))
    assert max(decoded) == 4032 * 3024  # half of each side, the smallest step that is enough
    with Image.open(io.BytesIO(kept)) as image:
        assert (mime, image.size) == ("image/jpeg", (3000, 2250))


def test_one_that_lies_is_put_upright_after_it_was_reduced() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    _mime, kept = cleaned(written((8064, 6048), "JPEG", exif=exif))
    with Image.open(io.BytesIO(kept)) as image:
        assert image.size == (2250, 3000)


@pytest.mark.parametrize(
    ("content", "received"),
    [
        (written((5001, 5000), "PNG", "1"), "5001 × 5000"),
        (written((10_000, 8_000), "PNG", "1"), "10000 × 8000"),
        (written((5001, 5000), "WEBP", "RGB"), "5001 × 5000"),
        (written((5008, 5000), "JPEG", progressive=True), "5008 × 5000"),
        (written((20_008, 10_000), "JPEG"), "20008 × 10000"),
        (written((20_001, 20_000), "PNG", "1"), "20001 × 20000"),
    ],
)
def test_what_would_take_too_much_memory_is_refused_before_it_is_decoded(
    decoded, content, received
) -> None:
    with pytest.raises(InputError, match=f"at most 25 million pixels, .*received {received}"):
        cleaned(content)
    assert not decoded


def test_twenty_five_million_pixels_are_taken(decoded) -> None:
    cleaned(written((5000, 5000), "PNG", "1"))
    assert decoded[0] == 25_000_000
