"""The sums run in a server's own threads, whose stack is small."""

import os
import subprocess
import sys
from pathlib import Path

SOLVED = """
import threading
import curelog.wsgi
import numpy as np
threading.stack_size(256 * 1024)
sums = threading.Thread(target=lambda: np.linalg.solve(np.eye(400) + 0.1, np.ones(400)))
sums.start()
sums.join()
print("alive")
"""


def test_solving_equations_does_not_overflow_a_servers_thread(tmp_path: Path) -> None:
    """With two cores or more it does, unless OpenBLAS is kept from threads of its own."""
    plain = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    done = subprocess.run(
        [sys.executable, "-c", SOLVED],
        env=plain | {"CURELOG_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stdout.strip()) == (0, "alive"), done.stderr
