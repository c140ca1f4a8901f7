"""The data folder, outside the checkout: database, photos, key and collected static files."""

import fcntl
import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from curelog.serving.failure import CannotStart

KEY_FILE = "secret.key"
LOCK_FILE = "start.lock"
DEMO_MARK = "this-is-a-demo"
AUTHORITY_FILE, LEAF_FILE = "lan-authority.key", "lan-leaf.pem"
# Not the workshop's: made from the checkout, and slow to make; or trusted by phones already.
KEPT_IN_DEMO = {KEY_FILE, LOCK_FILE, DEMO_MARK, AUTHORITY_FILE, LEAF_FILE, "static", "static.stamp"}


def demo_folder(folder: Path) -> Path:
    """Beside the real one."""
    return folder if folder.name.endswith("-demo") else folder.with_name(f"{folder.name}-demo")


def open_folder(folder: Path) -> None:
    """Makes the folder, readable for its owner only, and finds out whether it can be written to."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise CannotStart(
            f"The data folder {folder} cannot be used ({error.strerror}): "
            "make it writable for you, or name another one in CURELOG_DATA."
        ) from error


def open_demo_folder(folder: Path) -> None:
    """Only a folder that a demo made is ever wiped, whatever CURELOG_DATA says."""
    if folder.is_dir() and any(folder.iterdir()) and not (folder / DEMO_MARK).exists():
        raise CannotStart(
            f"{folder} was not made by a demo and is left alone: name another folder in CURELOG_DATA."
        )
    open_folder(folder)
    (folder / DEMO_MARK).write_text("curelog wipes this folder at each start of the demo.\n")


def wipe_demo(folder: Path) -> None:
    for entry in folder.iterdir():
        if entry.name in KEPT_IN_DEMO:
            continue
        if entry.is_dir():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def make_key(folder: Path) -> bool:
    """Whether a key had to be made."""
    kept = folder / KEY_FILE
    if kept.exists():
        return False
    write_private(kept, secrets.token_urlsafe(50).encode())
    return True


def write_private(file: Path, content: bytes) -> None:
    """Whole or not at all, and never readable for others, not even while it is being written."""
    draft = file.with_suffix(".draft")
    draft.unlink(missing_ok=True)
    with open(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    draft.replace(file)


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """One start a folder: a second one would migrate, or wipe a demo, under the first one's feet."""
    with (folder / LOCK_FILE).open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise CannotStart(
                f"The workshop in {folder} is already being served: stop that one first."
            ) from error
        yield
