"""Which curelog this is, for files that outlive it."""

from importlib import metadata

from django.db.migrations.loader import MigrationLoader


def version() -> str:
    try:
        return metadata.version("curelog")
    except metadata.PackageNotFoundError:
        return "not installed"


def last_migrations(applied: set[tuple[str, str]]) -> dict[str, str]:
    """App to its last migration: names begin with their number."""
    return dict(sorted(applied))


def unknown_migrations(named: dict[str, str]) -> list[str]:
    """Those that this version does not have: what was made with them is newer than this curelog."""
    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    return [f"{app} {name}" for app, name in named.items() if (app, name) not in known]
