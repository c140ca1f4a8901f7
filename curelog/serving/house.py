"""The names and networks of a house: all that its certificate authority may ever vouch for (RFC 5280, 4.2.1.10)."""

import re
from collections.abc import Iterable
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from cryptography import x509

# RFC 1918, RFC 6598 (private networks over the internet use it), RFC 3927, RFC 4193, RFC 4291, and this machine.
NETWORKS = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)
# RFC 6761, RFC 6762, RFC 8375; `internal` is reserved by ICANN (2024); `lan` is common practice, no source.
DOMAINS = ("localhost", "local", "home.arpa", "internal", "lan")
HOST_NAME = re.compile(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*")


def general_names(hosts: Iterable[str]) -> list[x509.GeneralName]:
    """Hosts as a browser types them. What can be no host (`.example`, `*`) is left out."""
    told = (general_name(host.lower().strip("[]")) for host in hosts)
    return list(dict.fromkeys(name for name in told if name))


def general_name(host: str) -> x509.GeneralName | None:
    try:
        return x509.IPAddress(ip_address(host))
    except ValueError:
        return x509.DNSName(host) if HOST_NAME.fullmatch(host) else None


def constraints(own_hosts: Iterable[str]) -> x509.NameConstraints:
    """Networks and domains that exist in houses only, and this machine's own names and addresses as they are now."""
    house = [*map(x509.DNSName, DOMAINS), *(x509.IPAddress(ip_network(network)) for network in NETWORKS)]
    limits = x509.NameConstraints(house, None)
    own = [tree(name) for name in general_names(own_hosts) if not is_permitted(name, limits)]
    return x509.NameConstraints([*house, *own], None)


def tree(name: x509.GeneralName) -> x509.GeneralName:
    """What stands for this name alone; of a DNS name, for what is below it, too."""
    return x509.IPAddress(ip_network(name.value)) if isinstance(name, x509.IPAddress) else name


def is_permitted(name: x509.GeneralName, limits: x509.NameConstraints) -> bool:
    return any(_lies_in(name.value, tree.value) for tree in limits.permitted_subtrees or [])


def _lies_in(value: object, tree: object) -> bool:
    if isinstance(value, str) and isinstance(tree, str):
        return f".{value}".endswith(f".{tree}")
    return (
        isinstance(value, IPv4Address | IPv6Address)
        and isinstance(tree, IPv4Network | IPv6Network)
        and value in tree
    )
