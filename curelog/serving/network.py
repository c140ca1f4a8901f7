"""The port, and the addresses under which this machine is reached."""

import errno
import socket
from contextlib import closing, suppress

from curelog.serving.failure import CannotStart

LOCAL = ("localhost", "127.0.0.1", "[::1]")
EVERYWHERE = ("0.0.0.0", "::")
# Any address that is not this machine's: a datagram socket that is pointed there sends nothing, but tells
# which of the own addresses it would send from.
ELSEWHERE = ("10.254.254.254", 9)


def claim(host: str, port: int) -> None:
    """Tries the port and lets it go again, before anything is made that would have to be unmade."""
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with closing(socket.socket(family, kind)) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
            probe.listen(1)
    except OSError as error:
        raise CannotStart(_why_not(error, host, port)) from error


def _why_not(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is in use by another program: stop it, or choose another port with --port."
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"Port {port} needs administrator rights: choose one above 1023 with --port."
    return f"{host} is not an address of this machine: leave --host out, or use 127.0.0.1."


def own_addresses() -> list[str]:
    """IPv4 addresses in the local network, the one used for talking to others first."""
    found = []
    with suppress(OSError), closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as pointer:
        pointer.connect(ELSEWHERE)
        found.append(pointer.getsockname()[0])
    with suppress(OSError):
        told = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(entry[4][0]) for entry in told]
    return [address for address in dict.fromkeys(found) if not address.startswith(("127.", "0."))]


def answered_hosts(host: str, wanted: list[str]) -> list[str]:
    """Every name a browser may use for this machine; the same network gives the same list."""
    name = socket.gethostname()
    names = [*wanted, *LOCAL, name, f"{name}.local", *own_addresses()]
    return list(dict.fromkeys(names if host in EVERYWHERE else [*names, host]))


def is_open_to_network(host: str) -> bool:
    return not host.startswith("127.") and host not in ("localhost", "::1")


def phone_address(host: str, port: int, scheme: str = "http") -> str | None:
    """What a phone in the same network types, if it can reach this machine."""
    if not is_open_to_network(host):
        return None
    reachable = own_addresses() if host in EVERYWHERE else [host]
    return f"{scheme}://{reachable[0]}:{port}" if reachable else None
