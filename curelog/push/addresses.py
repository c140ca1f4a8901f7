"""Which addresses this server may be sent to by a URL from outside: public ones, over HTTPS, and no others."""

import socket
from collections.abc import Callable
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import SplitResult, urlsplit

Address = IPv4Address | IPv6Address
# Handed in by whoever posts: true for an address that may be connected to.
AddressCheck = Callable[[Address], bool]

LONGEST_URL = 2000
# They carry an IPv4 address inside, which could be a private one: NAT64 (RFC 6052, RFC 8215), 6to4 (RFC 3056).
CARRIERS = tuple(IPv6Network(net) for net in ("64:ff9b::/96", "64:ff9b:1::/48", "2002::/16"))


class Forbidden(Exception):
    """The words say why an address is not gone to."""


def is_public(address: Address) -> bool:
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped:
            return is_public(address.ipv4_mapped)
        if any(address in carrier for carrier in CARRIERS):
            return False
    return address.is_global and not address.is_multicast


def checked_url(url: str) -> SplitResult:
    """Its parts, when it is a plain HTTPS address."""
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError as error:
        raise Forbidden("This is not an address.") from error
    if parts.scheme != "https" or not parts.hostname or port == 0:
        raise Forbidden("Only HTTPS addresses are sent to.")
    if (
        parts.username is not None
        or parts.fragment
        or len(url) > LONGEST_URL
        or not url.isascii()
        or not url.isprintable()
    ):
        raise Forbidden("This is not the address of a push service.")
    return parts


def resolved(parts: SplitResult, may_connect: AddressCheck) -> str:
    """The IP address to connect to. A name that leads anywhere forbidden is refused altogether."""
    try:
        found = socket.getaddrinfo(parts.hostname, parts.port or 443, type=socket.SOCK_STREAM)
    except UnicodeError as error:
        raise Forbidden("This is not the name of a server.") from error
    addresses = [str(entry[4][0]) for entry in found]
    if not all(may_connect(ip_address(address.partition("%")[0])) for address in addresses):
        raise Forbidden("This leads into a private network.")
    return addresses[0]
