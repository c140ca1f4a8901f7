"""A calendar as text: RFC 5545. Moments are written in UTC, so that no clock change can move them; days are days."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

PRODUCT = "-//curelog//reminders//EN"
# RFC 5545, 3.1: a line has at most 75 octets, its continuation begins with a space.
MOST_OCTETS = 75
# TEXT (RFC 5545, 3.3.11): some letters are escaped, control characters are not allowed.
CONTROLS = [*range(9), *range(11, 32), 127]
AS_TEXT = str.maketrans(
    {"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"} | dict.fromkeys(map(chr, CONTROLS))
)
HEAD = ("BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN")
# RFC 7986, 5.7: how often to ask again.
ASK_AGAIN = ("REFRESH-INTERVAL;VALUE=DURATION:PT1H", "X-PUBLISHED-TTL:PT1H")


@dataclass(frozen=True, slots=True)
class Entry:
    """`uid` stays when the entry moves; `revision` then grows. With a date for `begins` it takes the whole day."""

    uid: str
    begins: datetime | date
    ends: datetime | None
    title: str
    text: str
    url: str
    revision: int
    changed_at: datetime


def calendar(name: str, entries: Iterable[Entry]) -> str:
    lines = [*HEAD, f"NAME:{escaped(name)}", f"X-WR-CALNAME:{escaped(name)}", *ASK_AGAIN]
    for entry in entries:
        lines.extend(event(entry))
    lines.append("END:VCALENDAR")
    return "".join(f"{folded(line)}\r\n" for line in lines)


def event(entry: Entry) -> Iterator[str]:
    changed = moment(entry.changed_at)
    yield "BEGIN:VEVENT"
    yield f"UID:{entry.uid}"
    yield f"DTSTAMP:{changed}"
    yield f"LAST-MODIFIED:{changed}"
    yield f"SEQUENCE:{entry.revision}"
    if isinstance(entry.begins, datetime):
        yield f"DTSTART:{moment(entry.begins)}"
        if entry.ends and entry.ends > entry.begins:
            yield f"DTEND:{moment(entry.ends)}"
    else:
        yield f"DTSTART;VALUE=DATE:{entry.begins:%Y%m%d}"
        yield f"DTEND;VALUE=DATE:{entry.begins + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{escaped(entry.title)}"
    yield f"DESCRIPTION:{escaped(entry.text)}"
    yield f"URL:{entry.url}"
    # It takes nobody's time as long as nobody gave it.
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def moment(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def escaped(text: str) -> str:
    return text.translate(AS_TEXT)


def folded(line: str) -> str:
    """Cut between letters, never inside one."""
    if len(line) * 4 <= MOST_OCTETS or len(line.encode()) <= MOST_OCTETS:
        return line
    pieces, piece, octets = [], "", 0
    for letter in line:
        size = len(letter.encode())
        if octets + size > MOST_OCTETS:
            pieces.append(piece)
            piece, octets = "", 1
        piece, octets = piece + letter, octets + size
    return "\r\n ".join([*pieces, piece])
