"""Who is one visitor, of those who are told apart by their address."""

from gaiter.records.entrance.networks import network_of


def test_addresses_of_one_subscriber_are_one() -> None:
    # A subscriber is given a /64 (RFC 6177); addresses in it cost nothing.
    assert network_of("2001:db8:1:2:3:4:5:6") == network_of("2001:db8:1:2::1") == "2001:db8:1:2::"
    assert network_of("2001:db8:1:3::1") != network_of("2001:db8:1:2::1")
    assert network_of("192.0.2.7") == "192.0.2.7"
    assert network_of("") == ""
