"""When the last backup was made: a file beside the database, since a backup must not write to what it saves."""

from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from curelog.models import Batch

FILE = "last-backup.txt"
OLD_AFTER = timedelta(days=14)


def remember(folder: Path, made_at: datetime) -> None:
    (folder / FILE).write_text(f"{made_at.isoformat()}\n")


def last_backup(folder: Path) -> datetime | None:
    with suppress(OSError, ValueError):
        made_at = datetime.fromisoformat((folder / FILE).read_text().strip())
        return made_at if made_at.tzinfo else None
    return None


def is_due(now: datetime) -> bool:
    """There is something to lose and no backup of the last days. Other databases are saved by their own tools."""
    if not settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        return False
    last = last_backup(settings.DATA_DIR)
    return (last is None or now - last > OLD_AFTER) and Batch.objects.exists()
