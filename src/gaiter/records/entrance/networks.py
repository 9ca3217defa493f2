"""Who is one visitor, of those who are told apart by their address."""

from ipaddress import IPv6Address, ip_address


def network_of(address: str) -> str:
    """Whom an address belongs to: itself, or of IPv6 the /64 that one subscriber is given."""
    try:
        parsed = ip_address(address)
    except ValueError:
        return address
    if isinstance(parsed, IPv6Address):
        return str(IPv6Address(int(parsed) >> 64 << 64))
    return str(parsed)
