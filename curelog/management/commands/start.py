"""`manage.py start`: sets up what is missing and serves the workshop."""

import argparse
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from curelog.serving.failure import CannotStart
from curelog.serving.start import start


def port_number(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 0 < int(text) < 65536:
        raise argparse.ArgumentTypeError("a port is a whole number from 1 to 65535")
    return int(text)


class Command(BaseCommand):
    help = "Makes what is missing (data folder, key, database, static files), then serves until Ctrl-C."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=port_number, default=8000)
        parser.add_argument(
            "--host", default="0.0.0.0", help="127.0.0.1: this machine alone, for a reverse proxy"
        )
        parser.add_argument(
            "--demo", action="store_true", help="an invented workshop, built anew at each start"
        )

        parser.add_argument(
            "--lan", action="store_true", help="HTTPS for phones in the house, on the port after --port"
        )

    def handle(self, *args: Any, host: str, port: int, demo: bool, lan: bool, **options: Any) -> None:
        try:
            start(host, port, demo, lan, sys.stdout)
        except CannotStart as why:
            sys.exit(str(why))
        except KeyboardInterrupt:
            sys.exit(130)
