"""One POST to an address from outside: to the very IP address that was checked, no redirect, and soon over."""

import http.client
import socket
import ssl
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from threading import Timer
from urllib.parse import SplitResult

from curelog.push.addresses import AddressCheck, checked_url, resolved

STEP_S = 6.0
ALL_S = 15.0
MOST_READ_BYTES = 2048


@dataclass(frozen=True, slots=True)
class Answer:
    status: int
    retry_after: str
    text: str


class PinnedConnection(http.client.HTTPSConnection):
    """Speaks to `ip`, and lets the certificate answer for the name: asking for the name again could give another IP."""

    def __init__(self, parts: SplitResult, ip: str, context: ssl.SSLContext) -> None:
        super().__init__(parts.hostname or "", parts.port or 443, timeout=STEP_S, context=context)
        self.ip, self.tls = ip, context

    def connect(self) -> None:
        plain = socket.create_connection((self.ip, self.port), STEP_S)
        wrapped = self.tls.wrap_socket(plain, server_hostname=self.host, do_handshake_on_connect=False)
        self.sock = wrapped
        wrapped.do_handshake()

    def hang_up(self) -> None:
        """Ends a talk that drips on, each byte within the time allowed for one step."""
        if self.sock:
            with suppress(OSError):  # it may just have ended by itself
                self.sock.shutdown(socket.SHUT_RDWR)


def post(
    url: str, body: bytes, headers: Mapping[str, str], may_connect: AddressCheck, context: ssl.SSLContext
) -> Answer:
    """Raises Forbidden, or OSError / HTTPException for what goes wrong on the way."""
    parts = checked_url(url)
    connection = PinnedConnection(parts, resolved(parts, may_connect), context)
    watch = Timer(ALL_S, connection.hang_up)
    watch.start()
    try:
        target = f"{parts.path or '/'}{f'?{parts.query}' if parts.query else ''}"
        connection.request("POST", target, body, dict(headers))
        response = connection.getresponse()
        text = response.read(MOST_READ_BYTES).decode(errors="replace")
        return Answer(response.status, response.headers.get("Retry-After", ""), text)
    finally:
        watch.cancel()
        connection.close()
