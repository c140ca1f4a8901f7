"""`manage.py import FILE`: an own export becomes a workshop again, if there is none yet."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from curelog.imports import ImportRefused
from curelog.imports.own import read_in
from curelog.models import Person
from curelog.serving.database import bring_up_to_date
from curelog.serving.failure import CannotStart
from curelog.serving.folder import open_folder


class Command(BaseCommand):
    help = "Reads an export of curelog into an empty workshop, all of it or nothing. (A backup: use restore.)"
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        try:
            open_folder(settings.DATA_DIR)
            bring_up_to_date()
            read_in(file, self.stdout.write)
        except (ImportRefused, CannotStart) as why:
            raise CommandError(f"{why} Nothing was taken in.") from None
        self.stdout.write("Everything is read in. Passwords are not part of an export; give new ones with:")
        for person in Person.objects.order_by("-role", "username"):
            self.stdout.write(f"  manage.py changepassword {person.username}")
