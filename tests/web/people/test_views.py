"""People: added, corrected, their legs opened."""

import pytest
from django.urls import reverse

from gaiter.records.models import Episode, Person

AWKWARD = [
    "<script>alert(1)</script>",
    "مريم الحداد",
    "Zoë 😀",
    "Robert'); DROP TABLE x;--",
    "%3Cb%3E &lt;i&gt; %2541",
]


@pytest.mark.parametrize("name", AWKWARD)
def test_awkward_names_are_kept_and_never_run(clinic, signed_in, name) -> None:
    client = signed_in("bandager")
    client.post(reverse("new-person"), {"name": name, "birth_date": "1950-01-01", "number": "T-2"})
    made = Person.objects.latest("pk")
    assert made.name == name
    page = client.get(reverse("person", args=[made.pk])).content.decode()
    assert "<script>alert" not in page
    found = client.get(reverse("people"), {"find": name}).content.decode()
    assert "T-2" in found


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"birth_date": "1951-02-30"}, "Give a date such as"),
        ({"birth_date": "1700-01-01"}, "from 1890 to today"),
        ({"birth_date": "2999-01-01"}, "from 1890 to today"),
        ({"name": ""}, "required"),
        ({"name": "x" * 500}, "at most 120"),
        ({"number": "T-1"}, "in the record already"),
        ({"number": "---"}, "letters or digits"),
    ],
)
def test_a_bad_person_is_answered_and_stays_in_the_form(clinic, signed_in, changes, words) -> None:
    given = {
        "name": "Bo",
        "birth_date": "1950-01-01",
        "number": "T-9",
        "phone": "555 77",
        **changes,
    }
    response = signed_in("bandager").post(reverse("new-person"), given)
    assert response.status_code == 400
    page = response.content.decode()
    assert words in page
    assert "555 77" in page
    assert Person.objects.count() == 1


def test_a_leg_is_opened_once(clinic, signed_in) -> None:
    client = signed_in("bandager")
    address = reverse("open-leg", args=[clinic.person.pk])
    assert client.post(address, {"side": "left", "once": "a"}).status_code == 302
    assert b"open episode already" in client.post(address, {"side": "left", "once": "b"}).content
    assert client.post(address, {"side": "middle"}).status_code == 400
    assert Episode.objects.count() == 2
