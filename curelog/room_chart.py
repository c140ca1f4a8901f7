"""The room over the last weeks as points of an SVG: humidity above, temperature below, one point a day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.formats import date_format

from curelog import units
from curelog.charts import Tick
from curelog.models.room import RoomDayMean

WIDTH, LEFT, RIGHT = 360.0, 40.0, 8.0
PANEL, GAP, TOP, BOTTOM = 90.0, 30.0, 22.0, 24.0
# A span that is drawn at least: a quiet room should look quiet.
LEAST_SPAN = {"%": 20.0, "C": 8.0, "F": 14.0}


@dataclass(frozen=True)
class Panel:
    """One measure. `lines`: unbroken runs of days as SVG paths."""

    name: str
    unit: str
    top: float
    lines: tuple[str, ...]
    points: tuple[tuple[float, float], ...]
    y_ticks: tuple[Tick, ...]

    @property
    def bottom(self) -> float:
        return self.top + PANEL


@dataclass(frozen=True)
class RoomChart:
    panels: tuple[Panel, ...]
    x_ticks: tuple[Tick, ...]
    words: str
    height: float
    width: float = WIDTH
    left: float = LEFT


def room_chart(
    days: Sequence[RoomDayMean], first: date, last: date, temperature_unit: str
) -> RoomChart | None:
    """None while no day was read. `first` to `last` is the width of the drawing."""
    measures = [
        ("Humidity", "%", [(day.day, day.rh) for day in days if day.rh is not None]),
        (
            "Temperature",
            temperature_unit,
            [(d.day, units.from_celsius(d.temp_c, temperature_unit)) for d in days if d.temp_c is not None],
        ),
    ]
    told = [(name, unit, values) for name, unit, values in measures if values]
    if not told:
        return None
    panels = tuple(
        panel(name, unit, values, TOP + place * (PANEL + GAP), (first, last))
        for place, (name, unit, values) in enumerate(told)
    )
    ticks = tuple(
        Tick(across(day, first, last), date_format(day, "j M"))
        for day in (last - timedelta(days=back) for back in range((last - first).days, -1, -14))
    )
    words = " ".join(in_words(name, unit, [value for _, value in values]) for name, unit, values in told)
    return RoomChart(panels, ticks, words, panels[-1].bottom + BOTTOM)


def panel(
    name: str, unit: str, values: list[tuple[date, float]], top: float, span: tuple[date, date]
) -> Panel:
    low, high = bounds([value for _, value in values], LEAST_SPAN[unit])
    points = [(across(day, *span), top + PANEL * (high - value) / (high - low), day) for day, value in values]
    runs: list[list[tuple[float, float]]] = []
    for place, (x, y, day) in enumerate(points):
        if not place or (day - points[place - 1][2]).days > 1:
            runs.append([])
        runs[-1].append((x, y))
    lines = tuple("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in run) for run in runs if len(run) > 1)
    # A line of one day would not be seen.
    alone = tuple(run[0] for run in runs if len(run) == 1)
    ticks = tuple(
        Tick(top + PANEL * (high - value) / (high - low), units.plain(value, 0))
        for value in (low, (low + high) / 2, high)
    )
    return Panel(name, unit if unit == "%" else f"°{unit}", top, lines, alone, ticks)


def bounds(values: list[float], least_span: float) -> tuple[float, float]:
    """Rounded outwards to even numbers, so that the middle is a whole one."""
    low, high = min(values), max(values)
    spare = max(0.0, least_span - (high - low)) / 2
    return 2 * ((low - spare) // 2), -2 * (-(high + spare) // 2)


def across(day: date, first: date, last: date) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * (day - first).days / max(1, (last - first).days)


def in_words(name: str, unit: str, values: list[float]) -> str:
    shown = unit if unit == "%" else f"°{unit}"
    return f"{name} from {min(values):.0f} to {max(values):.0f} {shown}, last {values[-1]:.0f} {shown}."
