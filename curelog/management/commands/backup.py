"""`manage.py backup FILE`: the whole workshop in one checked file, while it is open."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from curelog.backup import BackupError
from curelog.backup.make import back_up


class Command(BaseCommand):
    help = "Writes database, photos and keys into one file and reads it again. May run while curelog does."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "file", type=Path, help="the file to make, or a folder for one named by the moment"
        )

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        try:
            back_up(file, timezone.now(), self.stdout.write)
        except BackupError as why:
            raise CommandError(str(why)) from None
