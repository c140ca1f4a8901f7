"""Sizes and dates on a label."""

from calendar import monthrange
from datetime import date

from curelog.domain.tables import table_rows


def figure_height_mm(label_g: float) -> float:
    """Least height in mm of the figures of a nominal weight in g, above 0.

    Directive 76/211/EEC, Annex I, 3.1: up to 50 g 2 mm, to 200 g 3 mm, to 1000 g 4 mm, above 6 mm (seen in secondary
    sources, named in the table). Other countries ask for other heights.
    """
    if label_g <= 0:
        raise ValueError("a net weight is above 0 g")
    rows = table_rows("figure_heights.csv")
    return next(float(row["height_mm"]) for row in rows if not row["to_g"] or label_g <= float(row["to_g"]))


def months_after(day: date, months: int) -> date:
    """The same day of a later month; the month's last day where it has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
