"""`manage.py restore FILE`: a backup becomes a workshop again, in the empty folder that CURELOG_DATA names."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from curelog.backup import BackupError
from curelog.backup.archive import DATABASE
from curelog.backup.restore import restore


class Command(BaseCommand):
    help = "Unpacks a backup into the empty folder CURELOG_DATA. A damaged or newer file changes nothing."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        if settings.DATABASES["default"]["NAME"] != str(settings.DATA_DIR / DATABASE):
            raise CommandError(
                "A backup comes with its own database: restore it without CURELOG_DATABASE_URL."
            )
        try:
            manifest = restore(file, settings.DATA_DIR, self.stdout.write)
        except BackupError as why:
            raise CommandError(f"{why} Nothing was restored.") from None
        self.stdout.write(f"Restored as of {manifest.made_at} in {settings.DATA_DIR}. `start` opens it.")
