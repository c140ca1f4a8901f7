"""`manage.py remind`: the reminders' worker as a process of its own, or one round of it for cron."""

import signal
from threading import Event
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from curelog.channels import channels
from curelog.reminders import worker


class Command(BaseCommand):
    help = "Plans and sends the reminders that are due, until Ctrl-C. `manage.py start` does it as well."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--once", action="store_true", help="one round, then end: for cron or a systemd timer"
        )

    def handle(self, *args: Any, once: bool, **options: Any) -> None:
        if once:
            self.stdout.write(f"Messages: {worker.one_round(channels())}")
            return
        stop = Event()
        for name in (signal.SIGINT, signal.SIGTERM):
            signal.signal(name, lambda *_: stop.set())
        worker.run(stop)
