"""The menu of every role, in its order; each entry is one that the role may open."""

import pytest

from gaiter.records.models import Role
from gaiter.web.frame.menu import menu_of

# By hand, from the table of roles.
MENU = {
    Role.PRESCRIBER: [
        "today",
        "people",
        "orders",
        "practice",
        "technique",
        "stock",
        "policy",
        "off",
    ],
    Role.BANDAGER: ["today", "people", "orders", "practice", "technique", "stock", "off"],
    Role.MANAGER: ["stock", "accounts", "policy", "off"],
    Role.LEARNER: ["practice", "technique", "off"],
}  # fmt: skip


@pytest.mark.parametrize("role", Role)
def test_a_role_finds_its_pages_in_order(role: Role) -> None:
    assert [name for name, _title in menu_of(role)] == MENU[role]


def test_nobody_finds_nothing() -> None:
    assert menu_of(None) == []


def test_the_menu_of_a_page_leads_there(clinic, signed_in) -> None:
    page = signed_in(Role.MANAGER).get("/stock/").content.decode()
    assert '<a href="/stock/" aria-current="page">' in page
    assert '<a href="/off/">' in page
