"""From where a request comes: the peer, and what a trusted proxy names."""

from dataclasses import replace
from ipaddress import ip_network

import pytest
from django.test import RequestFactory, override_settings

from gaiter.web.frame.address import address_of

OURS = (ip_network("10.0.0.0/24"), ip_network("::1"))


@pytest.mark.parametrize(
    ("peer", "said", "found"),
    [
        # Whoever is no proxy of ours may write what they like.
        ("203.0.113.9", "192.0.2.1", "203.0.113.9"),
        ("10.0.1.1", "192.0.2.1", "10.0.1.1"),
        ("10.0.0.1", "192.0.2.1", "192.0.2.1"),
        ("::1", "2001:db8::7", "2001:db8::7"),
        # Of a list only what our own proxies added: the last that is none of them.
        ("10.0.0.1", "198.51.100.1, 192.0.2.1", "192.0.2.1"),
        ("10.0.0.1", "198.51.100.1, 192.0.2.1, 10.0.0.2", "192.0.2.1"),
        ("10.0.0.1", "198.51.100.1, nonsense", "10.0.0.1"),
        ("10.0.0.1", "10.0.0.2", "10.0.0.1"),
        ("10.0.0.1", "", "10.0.0.1"),
        ("", "192.0.2.1", ""),
    ],
)
def test_a_header_counts_only_from_a_trusted_proxy(settings, peer, said, found) -> None:
    request = RequestFactory().get("/", REMOTE_ADDR=peer, headers={"X-Forwarded-For": said})
    with override_settings(GAITER=replace(settings.GAITER, trusted_proxy=OURS)):
        assert address_of(request) == found


def test_without_the_setting_no_header_counts() -> None:
    request = RequestFactory().get("/", headers={"X-Forwarded-For": "192.0.2.1"})
    assert address_of(request) == "127.0.0.1"
