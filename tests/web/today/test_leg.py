"""What is written down on the page of a leg."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from gaiter.records.models import Note, StoredFile


def test_a_form_sent_twice_counts_once(clinic, signed_in) -> None:
    client = signed_in("bandager")
    for _ in range(2):
        response = client.post(
            reverse("note", args=[clinic.episode.pk]), {"words": "once", "once": "token"}
        )
        assert response.status_code == 302
    assert Note.objects.count() == 1


@pytest.mark.parametrize("words", ["", "x" * 10_001])
def test_a_note_too_short_or_long_is_refused(clinic, signed_in, words) -> None:
    response = signed_in("bandager").post(
        reverse("note", args=[clinic.episode.pk]), {"words": words, "once": "t"}
    )
    assert response.status_code == 400
    assert b"1 to 10000 characters" in response.content


def test_a_paper_is_handed_over_as_a_file_and_runs_nothing(clinic, signed_in) -> None:
    client = signed_in("bandager")
    paper = b"%PDF-1.7 /OpenAction << /S /JavaScript >>"
    client.post(
        reverse("add-file", args=[clinic.episode.pk]),
        {"kind": "consent", "once": "p", "file": SimpleUploadedFile("x.pdf", paper)},
    )
    stored = StoredFile.objects.get()
    answer = client.get(reverse("stored-file", args=[stored.pk]))
    assert answer["Content-Disposition"] == f'attachment; filename="consent-{stored.pk}.pdf"'
    assert (
        answer["Content-Security-Policy"] == "default-src 'none'; frame-ancestors 'none'; sandbox"
    )
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_file_of_the_wrong_kind_is_refused(clinic, signed_in) -> None:
    client = signed_in("bandager")
    for name, content in (("x.svg", b"<svg/>"), ("x.jpg", b"MZ")):
        response = client.post(
            reverse("add-file", args=[clinic.episode.pk]),
            {"kind": "photo", "once": name, "file": SimpleUploadedFile(name, content)},
        )
        assert response.status_code == 400
        assert b"neither a JPEG" in response.content
    missing = client.post(reverse("add-file", args=[clinic.episode.pk]), {"once": "x"})
    assert b"Choose a file first" in missing.content
