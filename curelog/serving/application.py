"""What the server's worker process serves. Nothing here may need Django before it is set up."""

import os
import signal
import threading
from collections.abc import Callable
from multiprocessing import parent_process
from multiprocessing.process import BaseProcess
from typing import Any


def application() -> Any:
    """Ctrl-C is for the parent, which then ends its worker: told twice, the worker would hang."""
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    end_with_parent(lambda: os.kill(os.getpid(), signal.SIGTERM))
    from curelog import wsgi

    return wsgi.application


def https_application() -> Any:
    """The same behind the HTTPS door of `--lan`: only the door differs from the plain one beside it."""
    os.environ["CURELOG_HTTPS"] = "1"
    return application()


def end_with_parent(end: Callable[[], Any]) -> None:
    """A start that was killed leaves no process behind that keeps its ports."""

    def wait_for(parent: BaseProcess) -> None:
        parent.join()
        end()

    if parent := parent_process():
        threading.Thread(target=wait_for, args=(parent,), daemon=True).start()
