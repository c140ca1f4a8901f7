"""The database, brought to the shape this version needs, or left exactly as it was."""

from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection, connections
from django.db.migrations.executor import MigrationExecutor

from curelog.serving.failure import CannotStart


def bring_up_to_date() -> Path | None:
    """Migrates when there is something to migrate. Gives back the copy of an older database it kept first."""
    try:
        executor = MigrationExecutor(connection)
        _refuse_foreign(executor)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if not plan:
            return None
        is_older = bool(executor.loader.applied_migrations)
        copy = keep_copy(plan[0][0].name) if is_older and connection.vendor == "sqlite" else None
    except DatabaseError as error:
        raise CannotStart(
            f"{described()} cannot be read ({first_line(error)}): restore a copy of it."
        ) from error
    migrate(copy)
    return copy


def hurry() -> None:
    """For a demo alone: what a power cut would spoil is made anew at the next start anyway."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF")


def _refuse_foreign(executor: MigrationExecutor) -> None:
    loader = executor.loader
    ours = {name for app, name in loader.applied_migrations if app == "curelog"}
    unknown = sorted(ours - {name for app, name in loader.disk_migrations if app == "curelog"})
    if unknown:
        raise CannotStart(
            f"{described()} was last used by a newer curelog ({unknown[-1]}): "
            "install that version again. Nothing was changed."
        )
    if not ours and connection.introspection.django_table_names(only_existing=True):
        raise CannotStart(f"{described()} holds tables that curelog did not make: name another one.")


def keep_copy(before: str) -> Path:
    """A whole copy beside the database, named after the first change it does not have."""
    copy = _file().with_name(f"curelog-before-{before}.sqlite3")
    copy.unlink(missing_ok=True)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(copy)])
    return copy


def migrate(copy: Path | None) -> None:
    try:
        call_command("migrate", verbosity=0, interactive=False)
    except Exception as error:  # whatever a migration trips over, the maker needs the database as it was
        if copy:
            put_back(copy)
        raise CannotStart(
            f"{described()} could not be brought up to date ({first_line(error)}): "
            "it is as it was before; use the version that made it."
        ) from error


def put_back(copy: Path) -> None:
    connections.close_all()
    for left in ("-wal", "-shm"):
        _file().with_name(f"{_file().name}{left}").unlink(missing_ok=True)
    copy.replace(_file())


def described() -> str:
    return (
        f"The database {_file()}" if connection.vendor == "sqlite" else "The database of CURELOG_DATABASE_URL"
    )


def first_line(error: Exception) -> str:
    return str(error).splitlines()[0].rstrip(". ") if str(error) else type(error).__name__


def _file() -> Path:
    return Path(settings.DATABASES["default"]["NAME"])
