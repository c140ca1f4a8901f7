"""A port and what stands behind it: one worker process, threads for phones that stall on bad wifi. Without Django."""

import signal
from multiprocessing import get_context
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Any

from granian.constants import Interfaces
from granian.log import LogLevels
from granian.server import Server
from granian.server.common import AbstractServer

from curelog.serving.application import end_with_parent

THREADS = 32
# An upload that hangs must not hold up Ctrl-C.
LONGEST_GOODBYE_S = 3


def door(host: str, port: int, certificate: Path | None = None) -> AbstractServer[Any]:
    """Over HTTPS when it is given a certificate, a file that holds the key, too."""
    application = "https_application" if certificate else "application"
    server = Server(
        f"curelog.serving.application:{application}",
        factory=True,
        address=host,
        port=port,
        ssl_cert=certificate,
        ssl_key=certificate,
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=THREADS,
        websockets=False,
        log_level=LogLevels.error,
        workers_kill_timeout=LONGEST_GOODBYE_S,
    )
    end_with_terminal(server)
    return server


def end_with_terminal(server: AbstractServer[Any]) -> None:
    """To granian a hang-up means reload; a workshop left behind by a closed terminal would keep the port."""
    if signal.getsignal(signal.SIGHUP) is not signal.SIG_IGN:
        server.on_startup(lambda: signal.signal(signal.SIGHUP, server.signal_handler_interrupt))


class SecondDoor:
    """Another port in a process of its own, since granian has one port a server and wants the main thread."""

    def __init__(self, host: str, port: int) -> None:
        self.host, self.port = host, port
        self.process: SpawnProcess | None = None

    def open(self) -> None:
        self.process = get_context("spawn").Process(target=_serve_beside, args=(self.host, self.port))
        # Ctrl-C is for the first door, which then closes this one.
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        self.process.start()
        signal.pthread_sigmask(signal.SIG_SETMASK, before)

    def close(self) -> None:
        if not self.process:
            return
        self.process.terminate()
        self.process.join(2 * LONGEST_GOODBYE_S)
        self.process.kill()

    @property
    def is_open(self) -> bool:
        return bool(self.process and self.process.is_alive())


def _serve_beside(host: str, port: int) -> None:
    server = door(host, port)
    end_with_parent(server.signal_handler_interrupt)
    server.serve()
