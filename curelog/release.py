"""What this release consists of on a phone: its static files by their hashed names, and one name for all of them."""

import hashlib
import posixpath
import re
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage

KEPT_KINDS = (".css", ".js", ".svg")
# Of what django-htmx ships, the one file that pages ask for.
HTMX = "django_htmx/htmx-2.min.js"
IMPORT = re.compile(r"""^(?:import|export)\b[^;"]*"(\.[^"]+)";""", re.MULTILINE)


def is_hashed() -> bool:
    """Whether static files have hashed names. Without them a worker would serve yesterday's modules for ever."""
    return isinstance(staticfiles_storage, ManifestFilesMixin)


@cache
def static_urls() -> tuple[str, ...]:
    """Everything a page needs to look and work the same without a network."""
    assert isinstance(staticfiles_storage, ManifestFilesMixin)
    names = (name for name in staticfiles_storage.hashed_files if name.endswith(KEPT_KINDS))
    kept = (name for name in names if name == HTMX or not name.startswith("django_htmx/"))
    return tuple(sorted(staticfiles_storage.url(name) for name in kept))


@cache
def name() -> str:
    return hashlib.sha256("\n".join(static_urls()).encode()).hexdigest()[:12]


@cache
def modules_of(entry: str) -> tuple[str, ...]:
    """What a module imports, and what that imports: named to the browser at once, they are not found one by one."""
    found: dict[str, None] = {}
    open_names = [entry]
    for module in open_names:
        source = finders.find(module)
        assert source, f"{module} is imported and does not exist"
        for relative in IMPORT.findall(Path(source).read_text(encoding="utf-8")):
            name = posixpath.normpath(posixpath.join(posixpath.dirname(module), relative))
            if name not in found:
                found[name] = None
                open_names.append(name)
    return tuple(found)
