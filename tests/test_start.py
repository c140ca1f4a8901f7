"""`manage.py start`, as a whole: a real process, a real port, Ctrl-C."""

import socket
import sqlite3
import stat
from pathlib import Path

import pytest

from tests.started import failure, free_port, started


def test_from_nothing_to_a_page_and_back(tmp_path: Path) -> None:
    data = tmp_path / "nested" / "data"
    with started(data) as server:
        assert server.told(r"Data folder +(\S+)") == str(data)
        assert stat.S_IMODE((data / "secret.key").stat().st_mode) == 0o600
        assert stat.S_IMODE(data.stat().st_mode) == 0o700
        assert "█" in server.out  # the QR code

        path = server.told(r"First account +http://[^/]+(/\S+)")
        assert server.get(path)[0] == 200
        assert server.get("/join/no-such-link/")[0] != 200
        assert server.get("/sign-in/", host=socket.gethostname())[0] == 200

        page = server.get("/sign-in/")[1].decode()
        style = page.split('rel="stylesheet" href="', 1)[1].split('"', 1)[0]
        assert server.get(style)[0] == 200

        assert server.interrupt() == 0
        assert server.err == ""
        assert server.leaves_nothing()
    with sqlite3.connect(data / "curelog.sqlite3") as database:
        assert database.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_second_start_keeps_key_and_data(tmp_path: Path) -> None:
    with started(tmp_path, "--host", "127.0.0.1") as server:
        assert "no way in" in server.told(r"On the phone +(.*)")
        key = (tmp_path / "secret.key").read_text()
        path = server.told(r"First account +http://[^/]+(/\S+)")
        server.interrupt()
    with started(tmp_path, "--host", "127.0.0.1") as server:
        assert (tmp_path / "secret.key").read_text() == key
        assert server.get(path)[0] == 200
        assert server.get("/sign-in/", host="elsewhere.example")[0] == 400
        assert "already being served" in failure(tmp_path, "--port", str(free_port()))


def test_a_port_in_use_makes_nothing(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with socket.socket() as other:
        other.bind(("0.0.0.0", 0))
        other.listen()
        told = failure(data, "--port", str(other.getsockname()[1]))
    assert one_sentence(told).startswith(f"Port {other_port(told)} is in use")
    assert not data.exists()


def other_port(told: str) -> str:
    return told.split()[1]


def test_an_unwritable_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    told = failure(tmp_path / "file" / "data", "--port", str(free_port()))
    assert one_sentence(told).startswith(f"The data folder {tmp_path / 'file' / 'data'} cannot be used")


def test_a_database_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "curelog.sqlite3") as database:
        database.execute(
            "CREATE TABLE django_migrations (id integer PRIMARY KEY, app text, name text, applied text)"
        )
        database.execute("INSERT INTO django_migrations VALUES (1, 'curelog', '9999_later', '2031-01-01')")
    before = (tmp_path / "curelog.sqlite3").read_bytes()
    told = failure(tmp_path, "--port", str(free_port()))
    assert "newer curelog (9999_later)" in one_sentence(told)
    assert (tmp_path / "curelog.sqlite3").read_bytes()[100:] == before[100:]


@pytest.mark.parametrize("port", ["0", "65536", "eighty", "-1"])
def test_a_port_that_is_none(port: str, tmp_path: Path) -> None:
    from django.core.management import CommandError, call_command

    with pytest.raises(CommandError, match="whole number from 1 to 65535"):
        call_command("start", f"--port={port}")


def one_sentence(told: str) -> str:
    assert len(told.splitlines()) == 1, told
    return told
