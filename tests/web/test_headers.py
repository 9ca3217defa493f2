"""What every answer of the clinic carries, whatever was asked."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.templatetags.static import static
from django.urls import reverse

from gaiter.records.models import StoredFile

KINDS = {
    "text/html": "text/html; charset=utf-8",
    "application/json": "application/json",
    "application/pdf": "application/pdf",
    "text/css": 'text/css; charset="utf-8"',
}


@pytest.fixture
def answers(clinic, signed_in):
    """An answer of every kind by what it is: pages, refusals, a redirect, a file, JSON, a style."""
    client = signed_in("bandager")
    upload = SimpleUploadedFile("x.pdf", b"%PDF-1.7")
    client.post(
        reverse("add-file", args=[clinic.episode.pk]),
        {"kind": "consent", "once": "h", "file": upload},
    )
    found = {
        "page": client.get(reverse("people")),
        "nothing there": client.get("/nothing-here/"),
        "another role's": client.get(reverse("accounts")),
        "a wrong verb": client.put(reverse("people")),
        "a bad form": client.post(reverse("note", args=[clinic.episode.pk]), {"words": ""}),
        "a file": client.get(reverse("stored-file", args=[StoredFile.objects.get().pk])),
        "a script's": client.post(
            reverse("save-visit", args=[clinic.visit.pk]), "{", "application/json",
            headers={"Accept": "application/json"},
        ),
        "health": client.get(reverse("health")),
        "a style": client.get(static("gaiter/page.css")),
    }  # fmt: skip
    client.logout()
    found["a redirect"] = client.get(reverse("people"))
    yield found
    found["a style"].close()


def test_no_answer_is_taken_for_another_kind(answers) -> None:
    for what, answer in answers.items():
        assert answer["X-Content-Type-Options"] == "nosniff", what


def test_no_address_is_told_to_another_place(answers) -> None:
    for what, answer in answers.items():
        assert answer["Referrer-Policy"] == "same-origin", what


def test_every_answer_says_what_may_run_in_it_and_that_nothing_frames_it(answers) -> None:
    for what, answer in answers.items():
        policy = answer["Content-Security-Policy"]
        assert "default-src 'none'" in policy, what
        assert "frame-ancestors 'none'" in policy, what
        if what == "a file":
            # Nothing of it runs, forms nothing and is no page of ours.
            assert "sandbox" in policy
        else:
            assert "object-src 'none'" in policy, what
            assert "base-uri 'none'" in policy, what


def test_no_other_origin_is_let_in(answers, client) -> None:
    asked = client.get(reverse("sign-in"), headers={"Origin": "https://elsewhere.example"})
    for what, answer in {**answers, "asked from elsewhere": asked}.items():
        assert "Access-Control-Allow-Origin" not in answer, what


def test_nothing_but_styles_and_scripts_is_kept_by_a_browser(answers) -> None:
    for what, answer in answers.items():
        if what != "a style":
            assert answer["Cache-Control"] == "no-store", what


def test_every_answer_with_content_says_its_kind(answers) -> None:
    for what, answer in answers.items():
        if what == "a redirect":
            continue
        kind = answer["Content-Type"].split(";")[0]
        assert answer["Content-Type"] == KINDS[kind], what


def test_folders_are_not_listed(answers, client, db) -> None:
    folder = static("gaiter/page.css").rpartition("/")[0]
    for address in (f"{folder}/", folder, f"{folder}/../", "/static/"):
        assert client.get(address).status_code == 404, address
