"""The real server as a process with its own data folder: workers need hashed files, and it may be killed."""

import atexit
import json
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 30


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@cache
def prepared() -> tuple[Path, dict[str, Any]]:
    """Made once: most of the time goes into hashing the static files."""
    data = Path(tempfile.mkdtemp(prefix="curelog-prepared-"))
    atexit.register(shutil.rmtree, data, ignore_errors=True)
    return data, RealServer(data, 0).run("prepare")


class RealServer:
    """`application`: what granian serves; another one stands for another release."""

    def __init__(self, data: Path, port: int, settings: str = "curelog.settings") -> None:
        self.data, self.port, self.settings = data, port, settings
        self.application = "curelog.wsgi:application"
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def environment(self) -> dict[str, str]:
        own = {
            "CURELOG_DATA": str(self.data),
            "CURELOG_DEBUG": "",
            "CURELOG_SECRET_KEY": "only for this test" * 4,
        }
        return os.environ | own | {"DJANGO_SETTINGS_MODULE": self.settings}

    def run(self, what: str) -> dict[str, Any]:
        command = [sys.executable, "-m", "tests.browser.prepare", what]
        done = subprocess.run(command, cwd=ROOT, env=self.environment, capture_output=True, text=True)
        assert not done.returncode, done.stderr
        told: dict[str, Any] = json.loads(done.stdout)
        return told

    def prepare(self) -> dict[str, Any]:
        """A data folder of its own. Gives back what the tests need to know of it."""
        source, told = prepared()
        shutil.copytree(source, self.data, dirs_exist_ok=True)
        return deepcopy(told)

    def start(self) -> None:
        granian = [
            sys.executable,
            "-m",
            "granian",
            "--interface",
            "wsgi",
            "--host",
            "127.0.0.1",
            "--port",
            str(self.port),
        ]
        granian += [
            "--workers",
            "1",
            "--blocking-threads",
            "8",
            "--no-ws",
            "--log-level",
            "error",
            self.application,
        ]
        self.process = subprocess.Popen(granian, cwd=ROOT, env=self.environment, start_new_session=True)
        self._wait_until_open()

    def _wait_until_open(self) -> None:
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            with closing(socket.socket()) as door:
                if door.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise TimeoutError("the server did not open")

    def kill(self) -> None:
        """As a power cut does it."""
        if self.process:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        with closing(sqlite3.connect(self.data / "curelog.sqlite3", timeout=20)) as database:
            return database.execute(query, values).fetchall()

    def write(self, statement: str, *values: object) -> None:
        with closing(sqlite3.connect(self.data / "curelog.sqlite3", timeout=20)) as database, database:
            database.execute(statement, values)


@contextmanager
def started(server: RealServer) -> Iterator[RealServer]:
    server.start()
    try:
        yield server
    finally:
        server.kill()


@contextmanager
def served(server: RealServer) -> Iterator[dict[str, Any]]:
    """Prepared, too."""
    told = server.prepare()
    with started(server):
        yield told
