"""The loop that plans, gives out and delivers. Any number of them may run at once."""

import logging
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from threading import Event, Thread

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from curelog.channels import channels as real_channels
from curelog.channels.message import Channel
from curelog.push.signing import kept_key
from curelog.reminders.delivering import deliver
from curelog.reminders.giving import give_out
from curelog.reminders.planning import catch_up

logger = logging.getLogger(__name__)

EVERY_S = 5.0
GOODBYE_S = 2.0
# Between two batches the server's own threads get their turn.
BREATH_S = 0.02


@contextmanager
def beside() -> Iterator[None]:
    """A thread that reminds as long as the server serves. Its keys are made at the first start."""
    kept_key(settings.DATA_DIR)
    stop = Event()
    thread = Thread(target=run, args=(stop,), name="reminders", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        # A message on its way may take longer: it is then sent again at the next start, with the same mark.
        thread.join(GOODBYE_S)


def run(stop: Event, channels: Mapping[str, Channel] | None = None) -> None:
    """Until `stop` is set. For a thread beside the server, or a process of its own."""
    known = channels or real_channels()
    while not stop.is_set():
        try:
            close_old_connections()
            one_round(known, stop)
        except Exception:  # a database that is away for a while must not end the reminders for good
            logger.exception("A round of reminders failed")
        stop.wait(EVERY_S)
    close_old_connections()


def one_round(channels: Mapping[str, Channel], stop: Event | None = None) -> int:
    """Everything that is due now. How many messages were tried."""
    stop = stop or Event()
    for step in (catch_up, give_out):
        while not stop.is_set() and step(timezone.now()):
            stop.wait(BREATH_S)
    sent = 0
    while not stop.is_set() and (tried := deliver(channels)):
        sent += tried
    return sent
