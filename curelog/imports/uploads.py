"""Where a file waits between being chosen and being taken in: under its own hash, for a day."""

import os
import re
import time
from contextlib import suppress
from pathlib import Path

from django.conf import settings

from curelog.imports import ImportRefused
from curelog.imports.sheet import Sheet, read_sheet
from curelog.imports.wanted import SheetKind

LONGEST_WAIT_S = 24 * 3600


def folder() -> Path:
    return Path(settings.DATA_DIR) / "imports"


def keep(content: bytes, kind: SheetKind) -> Sheet:
    """Raises ImportRefused for what is no sheet, or too long a one; keeps nothing then."""
    sheet = read_sheet(content)
    if len(sheet.rows) > kind.most_rows:
        raise ImportRefused(
            f"There are {len(sheet.rows)} rows. Split the file: {kind.most_rows} are taken at once."
        )
    folder().mkdir(mode=0o700, exist_ok=True)
    sweep()
    target = folder() / f"{sheet.digest}.csv"
    draft = target.with_suffix(f".{os.getpid()}")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        out.write(content)
    draft.replace(target)
    return sheet


def waiting(digest: str, kind: SheetKind) -> Sheet | None:
    if not re.fullmatch(r"[0-9a-f]{64}", digest):
        return None
    with suppress(FileNotFoundError):
        sheet = read_sheet((folder() / f"{digest}.csv").read_bytes())
        return sheet if len(sheet.rows) <= kind.most_rows else None
    return None


def sweep() -> None:
    for left in folder().iterdir():
        with suppress(FileNotFoundError):
            if time.time() - left.stat().st_mtime > LONGEST_WAIT_S:
                left.unlink()
