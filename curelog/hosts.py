"""Hosts as browsers type them."""

from urllib.parse import urlsplit


def is_here_only(host: str) -> bool:
    """Whether it leads, with a port or without, to the machine that types it: no other can open it."""
    return urlsplit(f"//{host}").hostname in ("localhost", "127.0.0.1", "::1")
