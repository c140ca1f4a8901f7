"""What the server's worker process serves. Nothing here may need Django before it is set up."""

import signal
from typing import Any


def application() -> Any:
    """Ctrl-C is for the parent, which then ends its worker: told twice, the worker would hang."""
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    from curelog import wsgi

    return wsgi.application
