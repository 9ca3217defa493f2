"""Forms about a row: of two who have one open, neither takes back what the other wrote."""

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.records.actions.plans import set_stock_item
from gaiter.records.models import Role
from tests.web.as_shown import as_shown, boxes_of

BACKEND = "django.contrib.auth.backends.ModelBackend"


def a_person(clinic):
    return clinic.person, "change-person"


def an_item(clinic):
    item = set_stock_item(
        clinic.actor(Role.MANAGER), None, material="zinc_paste", width_cm=8, rolls=4, low_at=2,
        curve={"usual_stretch": 0.123456789, "usual_tension_n_per_cm": 1.0, "locking_stretch": 3.3},
    )  # fmt: skip
    return item, "stock-item"


def an_account(clinic):
    return clinic.accounts[Role.BANDAGER], "account"


# Who opens the form, and two boxes of it with what somebody else writes into each.
FORMS = [
    (a_person, Role.BANDAGER, ("name", "Ada Corrected"), ("phone", "555 77")),
    (an_item, Role.MANAGER, ("width_cm", 7.5), ("relaxed_length_cm", 300.0)),
    (an_item, Role.MANAGER, ("relaxed_length_cm", 300.0), ("low_at", 9)),
    (an_account, Role.MANAGER, ("name", "Robin Renamed"), ("initials", "RR")),
]


@pytest.fixture
def opened(clinic):
    """The row, the address of its form, and two browsers that have it open."""

    def at(make, role):
        row, name = make(clinic)
        address, browsers = reverse(name, args=[row.pk]), []
        for _two in range(2):
            client = Client()
            client.force_login(clinic.accounts[role], backend=BACKEND)
            browsers.append((client, as_shown(client, address)))
        return row, address, browsers

    return at


@pytest.mark.parametrize(("make", "role", "mine", "theirs"), FORMS)
def test_what_another_wrote_meanwhile_stays(opened, make, role, mine, theirs) -> None:
    """Each sends the whole form, with what it showed in every box but one."""
    row, address, browsers = opened(make, role)
    for (client, shown), (box, value) in zip(browsers, (mine, theirs), strict=True):
        sent = {**shown, **boxes_of(shown), box: str(value)}
        assert client.post(address, sent).status_code == 302
    row.refresh_from_db()
    assert [getattr(row, box) for box, _value in (mine, theirs)] == [mine[1], theirs[1]]


@pytest.mark.parametrize(("make", "role", "mine", "_theirs"), FORMS)
def test_of_two_who_change_the_same_the_second_is_told(opened, make, role, mine, _theirs) -> None:
    row, address, ((first, shown), (second, same)) = opened(make, role)
    box, value = mine
    assert first.post(address, {**shown, **boxes_of(shown), box: str(value)}).status_code == 302
    another = value + ("x" if isinstance(value, str) else 1)
    answer = second.post(address, {**same, **boxes_of(same), box: str(another)})
    assert answer.status_code == 400
    assert "Somebody else changed this a moment ago" in answer.content.decode()
    row.refresh_from_db()
    assert getattr(row, box) == value


def test_a_form_that_does_not_say_what_it_showed_writes_nothing(opened) -> None:
    row, address, ((client, shown), _other) = opened(a_person, Role.BANDAGER)
    answer = client.post(address, {**boxes_of(shown), "name": "Ada Corrected"})
    assert answer.status_code == 400
    assert "older than the program" in answer.content.decode()
    row.refresh_from_db()
    assert row.name == shown["initial-name"]


def test_what_a_box_shows_in_short_is_kept_whole(opened) -> None:
    """The curve is shown with six digits; whoever changes the low line does not round it."""
    row, address, ((client, shown), _other) = opened(an_item, Role.MANAGER)
    client.post(address, {**shown, **boxes_of(shown), "low_at": "9"})
    row.refresh_from_db()
    assert (row.low_at, row.curve["usual_stretch"]) == (9, 0.123456789)
