"""What this release consists of on a phone: its static files by their hashed names, and one name for all of them."""

import hashlib
from functools import cache

from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage

KEPT_KINDS = (".css", ".js", ".svg")
# Of what django-htmx ships, the one file that pages ask for.
HTMX = "django_htmx/htmx-2.min.js"


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
