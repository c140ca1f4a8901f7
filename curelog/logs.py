"""Log lines without secrets: what opens a door by its address alone is masked, wherever it turns up."""

import logging
import re

# The calendar feed, links that invite or set a password, and whatever a push service gave out: endpoints are long paths
# on a foreign host.
SECRET_ADDRESS = re.compile(r"(/calendar/|/join/|/new-password/\d+/)[^\s/\"'?]+")
PUSH_ENDPOINT = re.compile(r"(https://[^\s/\"']+/)[^\s\"']{24,}")
MASK = r"\1***"


class MaskingFormatter(logging.Formatter):
    """Works on the finished line, traceback included: a secret that came as an argument is caught as well."""

    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))


def masked(text: str) -> str:
    return PUSH_ENDPOINT.sub(MASK, SECRET_ADDRESS.sub(MASK, text))
