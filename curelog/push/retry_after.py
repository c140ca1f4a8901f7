"""The Retry-After header (RFC 9110, 10.2.3): seconds, or a date."""

from datetime import UTC, datetime
from email.utils import parsedate_to_datetime

LONGEST_S = 24 * 3600


def seconds(value: str, now: datetime) -> int:
    """0 for a header that is not there or makes no sense; never more than a day."""
    value = value.strip()
    if value.isdecimal():
        return min(int(value[:9]), LONGEST_S)
    try:
        until = parsedate_to_datetime(value)
    except ValueError:
        return 0
    until = until if until.tzinfo else until.replace(tzinfo=UTC)
    return max(0, min(int((until - now).total_seconds()), LONGEST_S))
