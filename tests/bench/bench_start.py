"""From the command to the first page, and from Ctrl-C to the end: `python tests/bench/bench_start.py`."""

import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.started import started

ROUNDS = 3


def measure(data: Path, *arguments: str) -> tuple[float, float]:
    with started(data, "--host", "127.0.0.1", *arguments) as server:
        before = time.monotonic()
        assert server.interrupt() == 0, server.err
        return server.first_page_s, time.monotonic() - before


def main() -> None:
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; seconds to the first page and to the end")
    for name, arguments in (("workshop", ()), ("demo", ("--demo",))):
        with tempfile.TemporaryDirectory() as folder:
            for turn in range(ROUNDS):
                first_s, end_s = measure(Path(folder) / "data", *arguments)
                print(
                    f"{name:9} {'first start' if turn == 0 else 'started again':14} {first_s:5.1f} {end_s:5.1f}"
                )


if __name__ == "__main__":
    main()
