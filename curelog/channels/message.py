"""What goes out over a channel, and what came of it: one shape for all channels."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from curelog.models import Receiver


@dataclass(frozen=True, slots=True)
class Message:
    """`path`: where in the app it leads. `tag`: the same for a repeat, so that it replaces the first. `answer`: a
    signed word by which "done" or "in an hour" is said without signing in; empty when there is nothing to answer.
    `is_to_note`: what was done wants noting, so "done" leads to the act as well."""

    title: str
    lines: tuple[str, ...]
    path: str
    tag: str
    answer: str = ""
    is_to_note: bool = False
    is_urgent: bool = False
    keep_s: int = 24 * 3600

    @property
    def text(self) -> str:
        return "\n".join(self.lines)


class Result(StrEnum):
    SENT = "sent"
    LATER = "later"
    GONE = "gone"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Outcome:
    """LATER: a passing trouble, to be tried again after `wait_s` at the earliest. GONE: the receiver is no more.
    REFUSED: this message will never be taken. `why` is for the person to read."""

    result: Result
    why: str = ""
    wait_s: int = 0


SENT = Outcome(Result.SENT)


class Channel(Protocol):
    def send(self, receiver: Receiver, message: Message) -> Outcome:
        """Ends within half a minute and never raises for what the other side does."""
        ...
