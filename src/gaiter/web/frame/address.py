"""From where a request comes, as far as it can be known."""

from collections.abc import Mapping
from ipaddress import ip_address
from typing import Any

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str:
    """From where a request of the framework comes."""
    return address_in(request.META)


def address_in(head: Mapping[str, Any]) -> str:
    """The peer's address; behind a proxy that the clinic trusts, the one that the proxy names.

    Everybody can write the header, so it counts only where the peer is in
    ``GAITER_TRUSTED_PROXY``, and of its list only the last address that is no such proxy: that one
    was added by a proxy that is trusted.
    """
    peer = str(head.get("REMOTE_ADDR", ""))
    if not is_trusted(peer):
        return peer
    said = str(head.get("HTTP_X_FORWARDED_FOR", ""))
    for named in reversed([part.strip() for part in said.split(",")]):
        try:
            address = str(ip_address(named))
        except ValueError:
            break
        if not is_trusted(address):
            return address
    return peer


def is_trusted(address: str) -> bool:
    """Whether it is a proxy that the clinic named."""
    try:
        parsed = ip_address(address)
    except ValueError:
        return False
    return any(parsed in network for network in settings.GAITER.trusted_proxy)
