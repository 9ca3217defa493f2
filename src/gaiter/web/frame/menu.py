"""The menu: the addresses that stand in it, each declared beside its view in a feature's urls."""

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.resolvers import RoutePattern
from django.utils.functional import Promise

from gaiter.records.models import Role
from gaiter.web.frame.access import Access


class InMenu(URLPattern):
    """An address as ``path`` makes it that stands in the menu as well.

    Parameters
    ----------
    route, view, name
        As for ``path``.
    title : Promise
        What the menu calls it, translated when it is shown.
    place : int
        Where it stands among the others; the smallest first.
    roles : frozenset[Role], optional
        Whose menu holds it; left out, everybody's who may open it.
    """

    def __init__(
        self,
        route: str,
        view: Any,
        *,
        name: str,
        title: Promise,
        place: int,
        roles: frozenset[Role] | None = None,
    ) -> None:
        super().__init__(RoutePattern(route, name=name, is_endpoint=True), view, None, name)
        access: Access = view.access
        self.title, self.place = title, place
        self.roles = access.roles if roles is None else roles & access.roles


def menu_of(role: Role | str | None) -> list[tuple[str, Promise]]:
    """Name of the address and title of every entry of a role, in order."""
    return [(str(entry.name), entry.title) for entry in _entries() if role in entry.roles]


@cache
def _entries() -> tuple[InMenu, ...]:
    found = _in_menu(get_resolver().url_patterns)
    return tuple(sorted(found, key=lambda entry: entry.place))


def _in_menu(patterns: Iterable[URLPattern | URLResolver]) -> Iterator[InMenu]:
    for one in patterns:
        if isinstance(one, InMenu):
            yield one
        elif isinstance(one, URLResolver):
            yield from _in_menu(one.url_patterns)
