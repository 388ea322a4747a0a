"""This machine's own address in the house's network, for a phone to be told."""

from ipaddress import ip_address
from socket import AF_INET, SOCK_DGRAM, socket

# Kept for examples by RFC 5737: asking by which way it would be reached sends nothing.
_SOMEWHERE = ("192.0.2.1", 9)


def fetch_own_address() -> str:
    """The IPv4 address by which others in the same network reach this machine; "" where there is none."""
    try:
        with socket(AF_INET, SOCK_DGRAM) as asked:
            asked.connect(_SOMEWHERE)
            found = str(asked.getsockname()[0])
    except OSError:
        return ""
    return "" if ip_address(found).is_loopback or ip_address(found).is_unspecified else found
