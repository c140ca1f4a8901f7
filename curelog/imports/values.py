"""Numbers, dates and hours as people type them into spreadsheets."""

import re
from datetime import date, time
from math import isfinite
from typing import Literal

from curelog import units

DateOrder = Literal["ymd", "dmy", "mdy"]
DecimalMark = Literal[".", ","]
DATE_ORDERS: dict[DateOrder, str] = {
    "ymd": "year, month, day: 2026-03-04",
    "dmy": "day, month, year: 04.03.2026",
    "mdy": "month, day, year: 03/04/2026",
}
# Beside those the workshop can choose for its screens, those that scales and rulers show; grams and millimetres
# exactly, by NIST Handbook 44, appendix C.
MASS_UNITS = {"g": 1.0, "kg": 1000.0, "oz": units.GRAMS_PER_OUNCE, "lb": 16 * units.GRAMS_PER_OUNCE}
LENGTH_UNITS = {"mm": 1.0, "cm": 10.0, "in": units.MILLIMETRES_PER_INCH}

SPACES = re.compile(r"[\s\u00a0\u202f']")
DATE = re.compile(r"(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})")
CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})(?:[:.]\d{2}(?:\.\d+)?)?\s*([ap]m)?", re.IGNORECASE)
UNIT = re.compile(r"(g|kg|oz|lb|mm|cm|in|%|°?[CF])\.?$", re.IGNORECASE)


class Unreadable(ValueError):
    """Words for the person whose cell it is."""


def number(text: str, mark: DecimalMark, unit: str = "") -> float:
    """With or without thousands marks; with its unit behind it or not, but never with another one."""
    words = text.strip()
    if told := UNIT.search(words):
        shown = told.group(1).lstrip("°")
        if unit and shown.casefold() != unit.casefold():
            raise Unreadable(f"“{text}” says {shown}, but {unit} is chosen.")
        words = words[: told.start()]
    words = SPACES.sub("", words).replace("\u2212", "-")
    other = re.escape("," if mark == "." else ".")
    pattern = rf"[+-]?(?:\d{{1,3}}(?:{other}\d{{3}})+|\d+)?(?:{re.escape(mark)}\d*)?"
    if not re.fullmatch(pattern, words) or not re.search(r"\d", words):
        raise Unreadable(f"“{text}” is not a number with a decimal {'point' if mark == '.' else 'comma'}.")
    read = float(re.sub(other, "", words).replace(mark, "."))
    if not isfinite(read):
        raise Unreadable("This number is too large.")
    return read


def day(text: str, order: DateOrder) -> date:
    found = DATE.fullmatch(text.strip())
    if found:
        parts = dict(zip(order, map(int, found.groups()), strict=True))
        digits = dict(zip(order, map(len, found.groups()), strict=True))
        if digits["y"] in (2, 4) and max(digits["m"], digits["d"]) <= 2:
            year = parts["y"] + (2000 if digits["y"] == 2 else 0)
            try:
                return date(year, parts["m"], parts["d"])
            except ValueError:
                pass
    raise Unreadable(f"“{text}” is not a date in the order {DATE_ORDERS[order].partition(':')[0]}.")


def clock(text: str) -> time:
    found = CLOCK.fullmatch(text.strip())
    if found:
        hour, half = int(found.group(1)), (found.group(3) or "").lower()
        if half:
            hour = hour % 12 + (12 if half == "pm" else 0) if 1 <= hour <= 12 else 24
        if hour < 24 and int(found.group(2)) < 60:
            return time(hour, int(found.group(2)))
    raise Unreadable(f"“{text}” is not a time of day as in 14:30.")


def split_moment(text: str) -> tuple[str, str]:
    """A date and the hour behind it, if there is one."""
    day_words, _, clock_words = text.strip().replace("T", " ").partition(" ")
    return day_words, clock_words.strip()
