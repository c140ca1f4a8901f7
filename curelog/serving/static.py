"""Static files under hashed names, collected only when something about them changed."""

import hashlib
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command

from curelog import staticfiles
from curelog.serving.failure import CannotStart


def collect() -> None:
    stamp = settings.DATA_DIR / "static.stamp"
    sources = fingerprint()
    if stamp.is_file() and stamp.read_text() == sources:
        return
    # Gone while collecting: a start that is broken off here collects again.
    stamp.unlink(missing_ok=True)
    try:
        call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    except OSError as error:
        raise CannotStart(
            f"Static files cannot be written to {settings.STATIC_ROOT}: {error.strerror}."
        ) from error
    stamp.write_text(sources)


def fingerprint() -> str:
    """Of names, sizes and times of all sources, and of the code that gives them their names."""
    paths = [Path(staticfiles.__file__)]
    for finder in get_finders():
        paths += [Path(storage.path(name)) for name, storage in finder.list([])]
    seen = hashlib.sha256()
    for path in sorted(paths):
        status = path.stat()
        seen.update(f"{path} {status.st_size} {status.st_mtime_ns}\n".encode())
    return seen.hexdigest()
