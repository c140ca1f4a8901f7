"""First guesses at what a sheet means. They are shown, and the person has the last word."""

import re
from collections.abc import Iterable, Sequence

from curelog.imports import values
from curelog.imports.values import DATE_ORDERS, DateOrder, DecimalMark, Unreadable
from curelog.imports.wanted import Wanted

UNIT_WORDS = {
    "ounce": "oz",
    "ounces": "oz",
    "gram": "g",
    "grams": "g",
    "gramm": "g",
    "grammes": "g",
    "pound": "lb",
    "pounds": "lb",
    "lbs": "lb",
    "inch": "in",
    "inches": "in",
    "celsius": "c",
    "fahrenheit": "f",
}
LONE_COMMA = re.compile(r"\d,(\d{1,2}|\d{4,})(\D|$)")
LONE_POINT = re.compile(r"\d\.(\d{1,2}|\d{4,})(\D|$)")


def columns(header: Sequence[str], wanted: Iterable[Wanted]) -> dict[str, int]:
    """Name of a wanted field to the place of its column; a column is given to one field."""
    names = [" ".join(re.findall(r"[^\W_]+", name.casefold())) for name in header]
    found: dict[str, int] = {}
    fields = list(wanted)
    # Names that fit to the letter first: "Cut date" must not be taken by the field that asks for a date.
    for fits in (lambda hint, name: hint == name, lambda hint, name: f" {hint} " in f" {name} "):
        for field in fields:
            for hint in field.hints if field.name not in found else ():
                free = (place for place, name in enumerate(names) if place not in found.values())
                place = next((place for place in free if fits(hint, names[place])), None)
                if place is not None:
                    found[field.name] = place
                    break
    return found


def unit(names: Iterable[str], offered: Iterable[str], usual: str) -> str:
    """The unit that the names of the columns tell, "Weight (oz)" say; else the usual one."""
    words = {word for name in names for word in re.findall(r"[^\W\d_]+", name.casefold())}
    told = {UNIT_WORDS.get(word, word) for word in words}
    named = [unit for unit in offered if unit.casefold() in told]
    return named[0] if len(named) == 1 else usual


def date_orders(cells: Iterable[str]) -> list[DateOrder]:
    """Every order in which all of them are dates."""
    told = [values.split_moment(cell)[0] for cell in cells]
    return [order for order in DATE_ORDERS if told and all(is_date(cell, order) for cell in told)]


def is_date(cell: str, order: DateOrder) -> bool:
    try:
        values.day(cell, order)
    except Unreadable:
        return False
    return True


def date_order(cells: Iterable[str], is_month_first_usual: bool) -> DateOrder:
    """Of two that fit, the one usual where the workshop's units are."""
    fitting = date_orders(cells)
    if "dmy" in fitting and "mdy" in fitting:
        return "mdy" if is_month_first_usual else "dmy"
    return fitting[0] if fitting else "ymd"


def decimal_mark(cells: Iterable[str]) -> DecimalMark:
    """A mark with three digits behind it may part thousands and tells nothing; the others vote."""
    told = list(cells)
    commas = sum(bool(LONE_COMMA.search(cell)) for cell in told)
    points = sum(bool(LONE_POINT.search(cell)) for cell in told)
    return "," if commas > points else "."
