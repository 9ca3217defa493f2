"""Files: sealed, cleaned of the camera's data, refused in words."""

import io

import pytest
from django.db import connection
from PIL import Image

from gaiter.core.errors import InputError
from gaiter.records.actions.people import store_file


def photo(**options) -> bytes:
    image = Image.new("RGB", (60, 40), "#884444")
    exif = Image.Exif()
    exif[0x010F] = "INVENTED CAMERA"
    exif[0x8825] = {2: (51.0, 28.0, 40.0)}
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, comment=b"INVENTED COMMENT", **options)
    return out.getvalue()


def test_nothing_of_the_camera_stays(clinic) -> None:
    given = photo()
    assert b"INVENTED" in given
    stored = store_file(clinic.actor(), clinic.episode, "photo", "", given)
    stored.refresh_from_db()
    kept = bytes(stored.content)
    assert b"INVENTED" not in kept
    with Image.open(io.BytesIO(kept)) as image:
        assert image.size == (60, 40)
        assert not image.getexif()


def test_the_database_holds_no_picture_in_the_clear(clinic) -> None:
    store_file(clinic.actor(), clinic.episode, "photo", "Left shin", photo())
    with connection.cursor() as cursor:
        cursor.execute("SELECT content, title FROM records_storedfile")
        content, title = cursor.fetchone()
    assert not bytes(content).startswith(b"\xff\xd8")
    assert "shin" not in title


def test_a_pdf_is_kept_as_it_is(clinic) -> None:
    stored = store_file(clinic.actor(), clinic.episode, "consent", "Consent", b"%PDF-1.7 x")
    assert stored.mime == "application/pdf"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"<script>alert(1)</script>", "neither a JPEG"),
        (b"GIF89a" + bytes(100), "neither a JPEG"),
        (b"\xff\xd8\xff\xe0 broken", "neither a JPEG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "neither a JPEG"),
        (b"", "at most 12 MB"),
        (bytes(12 * 2**20 + 1), "at most 12 MB; received 12.0 MB"),
    ],
)
def test_what_is_no_picture_is_refused(clinic, content, words) -> None:
    with pytest.raises(InputError, match=words):
        store_file(clinic.actor(), clinic.episode, "photo", "", content)
