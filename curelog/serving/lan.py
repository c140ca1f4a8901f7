"""`start --lan`: HTTPS for the phones of the house beside the plain port, with certificates that are made here."""

import logging
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Event, Thread
from typing import Any

from granian.server.common import AbstractServer

from curelog import environment
from curelog.serving import network
from curelog.serving.authority import Authority, kept_authority
from curelog.serving.door import SecondDoor
from curelog.serving.failure import CannotStart
from curelog.serving.folder import LEAF_FILE
from curelog.serving.leaf import renew_leaf

logger = logging.getLogger(__name__)

LOOKS_EVERY_S = 10.0


def port_beside(port: int) -> int:
    """The plain port stays the one it was: what phones keep, and have not sent yet, belongs to their old address."""
    if environment.flag("CURELOG_HTTPS") or environment.flag("CURELOG_BEHIND_PROXY"):
        raise CannotStart(
            "CURELOG_HTTPS and CURELOG_BEHIND_PROXY are for a proxy that has a certificate: leave them out with --lan."
        )
    if port == 65535:
        raise CannotStart("--lan takes the next port, too: choose one below 65535 with --port.")
    return port + 1


@dataclass
class Lan:
    """The HTTPS side of a workshop."""

    folder: Path
    host: str
    port: int

    @property
    def certificate(self) -> Path:
        return self.folder / LEAF_FILE

    def phone_address(self) -> str | None:
        return network.phone_address(self.host, self.port, "https")

    def authority(self) -> Authority:
        return kept_authority(self.folder, environment.words("CURELOG_HOSTS"), datetime.now(UTC))

    def renew(self) -> bool:
        """Whether the certificate had to be made: at first, near its end, or since this machine has a new address."""
        hosts = network.answered_hosts(self.host, environment.words("CURELOG_HOSTS"))
        # Read by the workers that are begun after this.
        os.environ["CURELOG_HOSTS"] = ",".join(hosts)
        return renew_leaf(self.folder, self.authority(), hosts, datetime.now(UTC))


@contextmanager
def kept_open(lan: Lan, https: AbstractServer[Any], plain: SecondDoor) -> Iterator[None]:
    """The plain door, and a watch on the certificate, for as long as the HTTPS door is open."""
    stop = Event()
    handles = (https.signal_handler_reload, https.signal_handler_interrupt)
    watch = Thread(target=look_after, args=(lan, plain, stop, *handles), name="certificates", daemon=True)
    plain.open()
    watch.start()
    try:
        yield
    finally:
        stop.set()
        watch.join()
        plain.close()


def look_after(
    lan: Lan, plain: SecondDoor, stop: Event, reload: Callable[[], Any], end: Callable[[], Any]
) -> None:
    """A worker reads its certificate once, when it begins: with a new one, both doors get new workers."""
    while not stop.wait(LOOKS_EVERY_S):
        try:
            if lan.renew():
                reload()
                plain.close()
                plain.open()
        except Exception:  # a full disk today is no reason to have no certificate tomorrow
            logger.exception("The certificate could not be looked after")
        if not plain.is_open:
            logger.error("The plain port closed by itself")
            end()
