"""The visit page: red flags first, the decision at once, and what is done about a stop."""

import pytest
from django.urls import reverse

from tests.clinic import small_clinic


@pytest.fixture
def empty(db):
    """A clinic with one visit in which nothing was said."""
    return small_clinic()


def browser(clinic, role):
    from django.test import Client

    client = Client()
    client.force_login(
        clinic.accounts[role], backend="django.contrib.auth.backends.ModelBackend"
    )
    return client


def page_of(client, visit) -> str:
    return client.get(reverse("visit", args=[visit.pk])).content.decode()


def test_an_empty(empty) -> None:
    page = page_of(browser(empty, "bandager"), empty.visit)
    assert "Asked all of these, none present" in page
