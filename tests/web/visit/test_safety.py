"""Stops set aside on the page of a visit."""

from django.urls import reverse

from tests.clinic import PASSWORD


def test_an_override_needs_password_reason_and_words(clinic, signed_in) -> None:
    clinic.fill({"person.breathless_lying": True})
    client = signed_in("prescriber")
    address = reverse("override", args=[clinic.visit.pk])
    given = {
        "reason": "specialist agreed",
        "words": "Heart team agreed today.",
        "code": "breathless_lying",
        "aim_low_mmhg": "10",
        "aim_high_mmhg": "20",
        "maximum_mmhg": "25",
    }
    assert client.post(address, given).status_code == 400
    assert client.post(address, {**given, "password": PASSWORD}).status_code == 302
    for name in ("visit", "design"):
        page = client.get(reverse(name, args=[clinic.visit.pk])).content.decode()
        assert "Heart team agreed today." in page
