"""Pages: numbers of the core, fixed query counts, and bad input answered without loss."""

import pytest
from django.db import connection
from django.urls import reverse

from gaiter.records.ledger import broken_at
from gaiter.records.models import AuditEntry, Person


def test_opening_and_exporting_a_record_are_audited(clinic, signed_in) -> None:
    client = signed_in("bandager")
    for name, pk in (("leg", clinic.episode.pk), ("case-file", clinic.visit.pk)):
        client.get(reverse(name, args=[pk]))
    verbs = set(AuditEntry.objects.values_list("verb", flat=True))
    assert {"open record", "export case"} <= verbs
    assert broken_at() is None


# What a page asks of the database; more than this is a slip, whatever is in the record. One of
# each keeps the session after what was said once has been shown.
QUERIES = {"today": 24, "people": 9, "leg": 60, "visit": 30, "stock": 5, "check": 36}


@pytest.mark.parametrize("name", QUERIES)
def test_queries_do_not_grow_with_the_record(
    clinic, signed_in, name, django_assert_max_num_queries
) -> None:
    clinic.approved()
    client = signed_in("prescriber")
    args = {"leg": [clinic.episode.pk], "visit": [clinic.visit.pk], "check": [clinic.visit.pk]}
    address = reverse(name, args=args.get(name, []))
    client.get(address)
    for number in range(4):
        client.post(
            reverse("new-person"),
            {"name": f"N{number}", "birth_date": "1950-01-01", "number": f"Q-{number}"},
        )
        client.post(reverse("open-leg", args=[Person.objects.latest("pk").pk]), {"side": "left"})
        client.post(reverse("note", args=[clinic.episode.pk]), {"words": "n", "once": f"q{number}"})
    # PostgreSQL asks once more, for the lock of the audit chain.
    lock = connection.vendor == "postgresql"
    with django_assert_max_num_queries(QUERIES[name] + lock):
        assert client.get(address).status_code == 200


def test_the_strictest_headers_stand_on_every_page(clinic, signed_in) -> None:
    response = signed_in("bandager").get(reverse("today"))
    policy = response["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert response["Cache-Control"] == "no-store"
    assert response["X-Frame-Options"] == "DENY"
