"""From where a request comes, as far as it can be known."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str:
    """The peer's address; behind a proxy that the clinic trusts, the one that the proxy names.

    Everybody can write the header, so it counts only where the peer is in
    ``GAITER_TRUSTED_PROXY``, and of its list only the last address that is no such proxy: that one
    was added by a proxy that is trusted.
    """
    peer = str(request.META.get("REMOTE_ADDR", ""))
    if not _trusted(peer):
        return peer
    said = request.headers.get("X-Forwarded-For", "")
    for named in reversed([part.strip() for part in said.split(",")]):
        try:
            address = str(ip_address(named))
        except ValueError:
            break
        if not _trusted(address):
            return address
    return peer


def _trusted(address: str) -> bool:
    try:
        parsed = ip_address(address)
    except ValueError:
        return False
    return any(parsed in network for network in settings.GAITER.trusted_proxy)
