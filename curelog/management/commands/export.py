"""`manage.py export FILE`: everything told, as CSV and JSON Lines with the photos, in one zip."""

import os
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from curelog.exports.stream import export


class Command(BaseCommand):
    help = "Writes everything told as CSV and JSON Lines, with the photos. Passwords and tokens stay here."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        draft = file.with_name(f"{file.name}.part")
        if file.exists():
            raise CommandError(f"{file} exists already: choose another name.")
        try:
            with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
                for piece in export(timezone.now()):
                    out.write(piece)
                out.flush()
                os.fsync(out.fileno())
            draft.replace(file)
        except OSError as error:
            raise CommandError(f"{file} cannot be written: {error.strerror or error}.") from None
        finally:
            draft.unlink(missing_ok=True)
        self.stdout.write(f"Kept: {file}. It holds names of people: keep it with care.")
