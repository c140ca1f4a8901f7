"""Typed reading of the environment. A bad value stops the start with one clear sentence."""

import os
import sys
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

TRUE, FALSE = {"1", "true", "yes", "on"}, {"0", "false", "no", "off", ""}


def text(name: str, default: str = "") -> str:
    return os.environ.get(name, default)


def flag(name: str, default: bool = False) -> bool:
    value = os.environ.get(name, str(default)).strip().lower()
    if value in TRUE:
        return True
    if value in FALSE:
        return False
    raise ImproperlyConfigured(f"{name} must be 1 or 0, not {value!r}.")


def number(name: str, default: int) -> int:
    value = os.environ.get(name, "").strip()
    if value and not value.isdecimal():
        raise ImproperlyConfigured(f"{name} must be a number, not {value!r}.")
    return int(value or default)


def words(name: str) -> list[str]:
    return [word.strip() for word in os.environ.get(name, "").split(",") if word.strip()]


def folder(name: str, default: Path) -> Path:
    return Path(os.environ.get(name) or default).expanduser().absolute()


def usual_data_folder() -> Path:
    """Where this platform keeps an application's data: never inside the checkout."""
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "curelog"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "curelog"
