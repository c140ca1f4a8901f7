"""The production server: one worker process, threads for phones that stall on bad wifi."""

import multiprocessing
import signal
import sys
from typing import Any

from django.db import connections
from granian.constants import Interfaces
from granian.log import LogLevels
from granian.server import Server
from granian.server.common import AbstractServer

from curelog.reminders import worker
from curelog.serving.failure import CannotStart

THREADS = 32
# An upload that hangs must not hold up Ctrl-C.
LONGEST_GOODBYE_S = 3


def serve(host: str, port: int) -> None:
    """Until Ctrl-C, SIGTERM, or the terminal is closed."""
    server = Server(
        "curelog.serving.application:application",
        factory=True,
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=THREADS,
        websockets=False,
        log_level=LogLevels.error,
        workers_kill_timeout=LONGEST_GOODBYE_S,
    )
    # A fork would copy whatever lock the reminders' thread holds at that moment.
    multiprocessing.set_start_method("spawn", force=True)
    end_with_terminal(server)
    connections.close_all()
    sys.stdout.flush()
    try:
        with worker.beside():
            server.serve()
    except (OSError, RuntimeError) as error:
        raise CannotStart(f"The server could not be started on port {port}: {error}") from error


def end_with_terminal(server: AbstractServer[Any]) -> None:
    """To granian a hang-up means reload; a workshop left behind by a closed terminal would keep the port."""
    if signal.getsignal(signal.SIGHUP) is not signal.SIG_IGN:
        server.on_startup(lambda: signal.signal(signal.SIGHUP, server.signal_handler_interrupt))
