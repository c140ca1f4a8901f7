"""A network between phone and server that does what wifi in cellars does, on the port that the phone knows."""

import http.client
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

LOGIN_PAGE = b"<!doctype html><title>Guest wifi</title><form><input name=room><button>Connect</button></form>"
NOT_PASSED_ON = {"connection", "keep-alive", "transfer-encoding"}

Answer = tuple[int, list[tuple[str, str]], bytes]


class BadNetwork:
    """`fault(method, path)` names what happens to a request: "" for nothing. `is_down`: no connection at all."""

    def __init__(self, port: int, server_port: int) -> None:
        self.port, self.server_port = port, server_port
        self.is_down = False
        self.fault: Callable[[str, str], str] = lambda method, path: ""
        self.counted: dict[str, int] = {}
        self.on_commit: Callable[[], None] = lambda: None
        handler = type("Handler", (Handler,), {"network": self})
        self.door = ThreadingHTTPServer(("127.0.0.1", port), handler)
        self.door.daemon_threads = True

    def __enter__(self) -> "BadNetwork":
        threading.Thread(target=self.door.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self.door.shutdown()
        self.door.server_close()

    def asked(self, handler: "Handler") -> Answer | None:
        length = int(handler.headers.get("Content-Length") or 0)
        body = handler.rfile.read(length) if length else None
        server = http.client.HTTPConnection("127.0.0.1", self.server_port, timeout=60)
        try:
            server.request(handler.command, handler.path, body, dict(handler.headers))
            answer = server.getresponse()
            headers = [pair for pair in answer.getheaders() if pair[0].lower() not in NOT_PASSED_ON]
            return answer.status, headers, answer.read()
        except (OSError, http.client.HTTPException):
            return None
        finally:
            server.close()


class Handler(BaseHTTPRequestHandler):
    network: BadNetwork
    protocol_version = "HTTP/1.0"

    def do_GET(self) -> None:
        if self.network.is_down:
            return
        fault = self.network.fault(self.command, self.path)
        self.network.counted[fault] = self.network.counted.get(fault, 0) + 1
        # The phone, too, hangs up in the middle: every page that is left does.
        with suppress(ConnectionError):
            getattr(self, fault or "pass_on")()

    do_POST = do_GET

    def pass_on(self) -> None:
        if answer := self.network.asked(self):
            self.say(*answer)

    def say(self, status: int, headers: list[tuple[str, str]], body: bytes, part: float = 1.0) -> None:
        self.send_response_only(status)
        for name, value in headers:
            if name.lower() != "content-length":
                self.send_header(name, value)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body[: int(part * len(body))])

    def drop_before(self) -> None:
        self.rfile.read(100)

    def drop_after(self) -> None:
        self.network.asked(self)

    def half_answer(self) -> None:
        if answer := self.network.asked(self):
            self.say(*answer, part=0.5)

    def half_request(self) -> None:
        """The server is left with the beginning of a body whose end never comes."""
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        server = http.client.HTTPConnection("127.0.0.1", self.network.server_port, timeout=60)
        server.putrequest(self.command, self.path, skip_host=True, skip_accept_encoding=True)
        for name, value in self.headers.items():
            server.putheader(name, value)
        server.endheaders()
        server.send(body[: len(body) * 2 // 3])
        time.sleep(0.05)
        server.close()

    def error_500(self) -> None:
        self.say(500, [("Content-Type", "text/html")], b"<h1>Server Error</h1>")

    def error_500_after(self) -> None:
        self.network.asked(self)
        self.error_500()

    def too_many(self) -> None:
        self.say(429, [("Retry-After", "1")], b"slow down")

    def login_page(self) -> None:
        self.say(200, [("Content-Type", "text/html")], LOGIN_PAGE)

    def login_redirect(self) -> None:
        self.say(302, [("Location", f"http://127.0.0.1:{self.network.port}/sign-in/")], b"")

    def killed_after_commit(self) -> None:
        """The server dies when the fact is in its database and before it has said so."""
        threading.Thread(target=self.network.asked, args=(self,), daemon=True).start()
        self.network.on_commit()

    def log_message(self, *args: Any) -> None:
        """Quiet: faults are meant."""
