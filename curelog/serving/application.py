"""What the server's worker process serves. Nothing here may need Django before it is set up."""

import os
import signal
from typing import Any


def application() -> Any:
    """Ctrl-C is for the parent, which then ends its worker: told twice, the worker would hang."""
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    from curelog import wsgi

    return wsgi.application


def https_application() -> Any:
    """The same behind the HTTPS door of `--lan`: only the door differs from the plain one beside it."""
    os.environ["CURELOG_HTTPS"] = "1"
    return application()
