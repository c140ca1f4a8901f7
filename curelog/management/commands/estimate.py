"""`manage.py estimate`: the sums of the domain for scripts, without database or server."""

import io
import os
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from curelog.estimates.stream import KINDS, answer_lines


class Command(BaseCommand):
    help = "Answers questions, one JSON object a line on standard input, by one JSON object a line."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=KINDS)

    def handle(self, *args: Any, kind: str, **options: Any) -> None:
        # Bytes that are no UTF-8 spoil their own line, not the run.
        lines = io.TextIOWrapper(sys.stdin.buffer, encoding="utf-8", errors="replace")
        try:
            for line in answer_lines(kind, lines):
                self.stdout.write(line)
                self.stdout.flush()
        except BrokenPipeError:
            # The reader has had enough (`| head`). Python would complain once more when it closes the pipe
            # at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
