import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection, connections

from curelog.serving import database
from curelog.serving.failure import CannotStart

pytestmark = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="looks at the file of an SQLite database"
)


@pytest.fixture
def file(tmp_path: Path, django_db_blocker: pytest.FixtureRequest) -> Iterator[Path]:
    """An empty database of its own, in place of the tests' one."""
    known = connection.settings_dict["NAME"]
    place = tmp_path / "curelog.sqlite3"
    with django_db_blocker.unblock():
        connections.close_all()
        connection.settings_dict["NAME"] = settings.DATABASES["default"]["NAME"] = str(place)
        yield place
        connections.close_all()
        connection.settings_dict["NAME"] = settings.DATABASES["default"]["NAME"] = known


def unapply_sessions(file: Path) -> None:
    """As if made before there were sessions, as far as the record goes."""
    connections.close_all()
    with sqlite3.connect(file) as raw:
        raw.execute("DELETE FROM django_migrations WHERE app = 'sessions'")


def tables(file: Path) -> set[str]:
    with sqlite3.connect(file) as raw:
        return {name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


def test_a_new_database_is_made_and_then_left_alone(file: Path) -> None:
    assert database.bring_up_to_date() is None
    assert "curelog_loaf" in tables(file)
    assert database.bring_up_to_date() is None
    assert list(file.parent.glob("curelog-before-*")) == []


def test_an_older_database_that_cannot_be_updated_is_put_back(file: Path) -> None:
    database.bring_up_to_date()
    unapply_sessions(file)  # its tables are there already, so applying it again fails
    with pytest.raises(CannotStart, match="it is as it was before"):
        database.bring_up_to_date()
    with sqlite3.connect(file) as raw:
        kept = {app for (app,) in raw.execute("SELECT DISTINCT app FROM django_migrations")}
    assert "curelog" in kept
    assert "sessions" not in kept
    assert "curelog_loaf" in tables(file)
    assert list(file.parent.glob("curelog-before-*")) == []


def test_an_older_database_is_copied_then_updated(file: Path) -> None:
    database.bring_up_to_date()
    from django.core.management import call_command

    call_command("migrate", "axes", "0001", verbosity=0)
    copy = database.bring_up_to_date()
    assert copy is not None
    assert "curelog_loaf" in tables(copy)
    assert database.bring_up_to_date() is None


def test_a_newer_database_is_refused(file: Path) -> None:
    database.bring_up_to_date()
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('curelog', '9999_later', '2031-01-01')"
        )
    with pytest.raises(CannotStart, match="newer curelog"):
        database.bring_up_to_date()


def test_tables_of_somebody_else_are_refused(file: Path) -> None:
    with sqlite3.connect(file) as raw:
        raw.execute("CREATE TABLE curelog_loaf (id integer)")
    with pytest.raises(CannotStart, match="did not make"):
        database.bring_up_to_date()


def test_a_file_that_is_no_database(file: Path) -> None:
    file.write_bytes(b"not a database " * 400)
    with pytest.raises(CannotStart, match="cannot be read"):
        database.bring_up_to_date()
    assert file.read_bytes() == b"not a database " * 400
