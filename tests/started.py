"""A real `manage.py start` in a process group of its own, as a terminal would have it."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PATIENCE_S = 90  # on a machine that has much else to do


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def two_free_ports() -> int:
    """The first of two neighbours: `--lan` takes the next one, too."""
    while True:
        port = free_port()
        with socket.socket() as probe, suppress(OSError):
            probe.bind(("127.0.0.1", port + 1))
            return port


def command(data: Path, *arguments: str, **environment: str) -> subprocess.Popen[str]:
    plain = {name: value for name, value in os.environ.items() if not name.startswith("CURELOG_")}
    return subprocess.Popen(
        [sys.executable, "manage.py", "start", *arguments],
        cwd=ROOT,
        env=plain | {"CURELOG_DATA": str(data), "DJANGO_SETTINGS_MODULE": "curelog.settings"} | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def failure(data: Path, *arguments: str, **environment: str) -> str:
    """What stands on stderr when it cannot start."""
    process = command(data, *arguments, **environment)
    out, err = process.communicate(timeout=PATIENCE_S)
    assert (process.returncode, out) == (1, ""), (process.returncode, out, err)
    return err


@dataclass
class Started:
    process: subprocess.Popen[str]
    port: int
    first_page_s: float
    out: str = ""
    err: str = ""

    def get(self, path: str, host: str = "localhost") -> tuple[int, bytes]:
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", headers={"Host": host})
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return answer.status, answer.read()
        except urllib.error.HTTPError as answer:
            return answer.code, answer.read()

    def told(self, pattern: str) -> str:
        found = re.search(pattern, self.out)
        assert found, self.out
        return found[1]

    def interrupt(self) -> int:
        """Ctrl-C: the terminal tells the whole group."""
        os.killpg(self.process.pid, signal.SIGINT)
        rest, self.err = self.process.communicate(timeout=PATIENCE_S)
        self.out += rest
        return self.process.returncode

    def leaves_nothing(self) -> bool:
        """No process of the group is left. Python's own tracker of resources ends a moment after its parent."""
        for _ in range(100):
            try:
                os.killpg(self.process.pid, 0)
            except ProcessLookupError:
                return True
            time.sleep(0.05)
        return False


@contextmanager
def started(data: Path, *arguments: str, **environment: str) -> Iterator[Started]:
    began, port = time.monotonic(), two_free_ports()
    process = command(data, "--port", str(port), *arguments, **environment)
    try:
        wait_for_page(process, port, began + PATIENCE_S)
        yield Started(process, port, time.monotonic() - began, greeting(process))
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        for stream in (process.stdout, process.stderr):
            if stream:
                stream.close()


def wait_for_page(process: subprocess.Popen[str], port: int, until: float) -> None:
    while time.monotonic() < until:
        assert process.poll() is None, process.communicate()
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=30).close()
            return
        except OSError:
            time.sleep(0.02)
    raise AssertionError("no page came")


def greeting(process: subprocess.Popen[str]) -> str:
    """What was printed until now; it ends with an empty line."""
    assert process.stdout
    os.set_blocking(process.stdout.fileno(), False)
    told = process.stdout.read() or ""
    os.set_blocking(process.stdout.fileno(), True)
    return told
