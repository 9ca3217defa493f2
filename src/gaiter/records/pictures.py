"""What may be put into a record as a file: pictures written anew, papers as they came."""

import io

from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from gaiter.core.errors import InputError

_LARGEST_SIDE_PX = 3000
# What is held in memory at once [px], three bytes each; several visitors may send one together.
_LARGEST_DECODED_PX = 25_000_000
# The largest that a phone makes; beyond it even a reduced reading takes too long [px].
_LARGEST_JPEG_PX = 200_000_000
# Pillow's own limit is none of these; ours are held against the head of a file.
Image.MAX_IMAGE_PIXELS = None


def cleaned(content: bytes) -> tuple[str, bytes]:
    """Media type and content of a file without anything hidden in it.

    A picture is written anew from its pixels, so that nothing of the camera, its place or its
    owner stays in it. A large JPEG, as telephones make, is reduced while it is read. A paper is
    kept as it came; whoever opens it is handed a file, never a page.

    Parameters
    ----------
    content : bytes
        As it was sent.

    Returns
    -------
    tuple[str, bytes]
        ``application/pdf`` or ``image/jpeg``.

    Raises
    ------
    InputError
        If it is neither a picture nor a paper, or would take too much memory.
    """
    if content.startswith(b"%PDF-"):
        return "application/pdf", content
    try:
        with Image.open(io.BytesIO(content), formats=["JPEG", "PNG", "WEBP"]) as image:
            sent = image.size
            # Of a progressive JPEG the whole is held before it can be reduced.
            if image.format == "JPEG" and not image.info.get("progressive"):
                _require_at_most(_LARGEST_JPEG_PX, sent, sent)
                image.draft("RGB", (_LARGEST_SIDE_PX, _LARGEST_SIDE_PX))
            _require_at_most(_LARGEST_DECODED_PX, image.size, sent)
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except InputError:
        raise
    except (UnidentifiedImageError, OSError, ValueError):
        raise InputError(
            _("This file is neither a JPEG, PNG or WebP picture nor a PDF: choose another file.")
        ) from None
    upright.thumbnail((_LARGEST_SIDE_PX, _LARGEST_SIDE_PX))
    # A new image holds pixels only: no EXIF, no comment, no colour profile.
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    written = io.BytesIO()
    plain.save(written, "JPEG", quality=88)
    return "image/jpeg", written.getvalue()


def _require_at_most(most_px: int, size: tuple[int, int], sent: tuple[int, int]) -> None:
    if size[0] * size[1] > most_px:
        raise InputError(
            _(
                "A picture must have at most {most} million pixels, or {large} million as an "
                "ordinary JPEG; received {width} × {height}: send it as a JPEG, or a smaller one."
            ).format(
                most=_LARGEST_DECODED_PX // 10**6,
                large=_LARGEST_JPEG_PX // 10**6,
                width=sent[0],
                height=sent[1],
            )
        )
