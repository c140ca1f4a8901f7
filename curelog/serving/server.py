"""The production server: one door, or with `--lan` two of them."""

import multiprocessing
import sys
from contextlib import AbstractContextManager, nullcontext

from django.db import connections

from curelog.reminders import worker
from curelog.serving.door import SecondDoor, door
from curelog.serving.failure import CannotStart
from curelog.serving.lan import Lan, kept_open


def serve(host: str, port: int, lan: Lan | None = None) -> None:
    """Until Ctrl-C, SIGTERM, or the terminal is closed."""
    # A fork would copy whatever lock the reminders' thread holds at that moment.
    multiprocessing.set_start_method("spawn", force=True)
    server = door(host, lan.port, lan.certificate) if lan else door(host, port)
    beside: AbstractContextManager[None] = nullcontext()
    if lan:
        beside = kept_open(lan, server, SecondDoor(host, port))
    connections.close_all()
    sys.stdout.flush()
    try:
        with worker.beside(), beside:
            server.serve()
    except (OSError, RuntimeError) as error:
        raise CannotStart(f"The server could not be started on port {port}: {error}") from error
