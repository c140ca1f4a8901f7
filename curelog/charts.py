"""The drying curve as points of an SVG: weights, the course with its doubt, the ceiling, today, the settled date."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from django.utils.formats import date_format

from curelog import units
from curelog.domain import drying
from curelog.models import evidence
from curelog.models.facts import Weighing
from curelog.models.outlook import Outlook

WIDTH, HEIGHT = 360.0, 250.0
LEFT, RIGHT, TOP, BOTTOM = 40.0, 8.0, 16.0, 26.0
COURSE_POINTS = 48


@dataclass(frozen=True)
class Tick:
    at: float
    label: str

    @property
    def anchor(self) -> str:
        """For a label under its mark, kept inside the drawing at both ends."""
        if self.at < LEFT + 10:
            return "start"
        return "end" if self.at > WIDTH - 24 else "middle"


@dataclass(frozen=True)
class Point:
    x: float
    y: float
    is_doubtful: bool
    words: str


@dataclass(frozen=True)
class TableRow:
    """One line beside the curve, for those who read rather than look."""

    when: str
    weight: str
    is_forecast: bool


@dataclass(frozen=True)
class Curve:
    band: str
    past: str
    to_come: str
    points: tuple[Point, ...]
    ceiling_y: float
    today_x: float
    settled: tuple[float, float]
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    table: tuple[TableRow, ...]
    many_bars: bool
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    bottom: float = HEIGHT - BOTTOM
    plot_height: float = HEIGHT - BOTTOM - TOP

    @property
    def settled_width(self) -> float:
        return self.settled[1] - self.settled[0]

    @property
    def settled_label_x(self) -> float:
        """Over the likely-to-safe stretch, kept inside the drawing."""
        return self._inside(sum(self.settled) / 2)

    @property
    def today_label_x(self) -> float:
        return self._inside(self.today_x)

    def _inside(self, x: float) -> float:
        return min(max(x, self.left + 18), self.width - 28)


@dataclass(frozen=True)
class Frame:
    """From days and grams to the drawing."""

    last_day: float
    low_g: float
    high_g: float

    def x(self, day: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * day / self.last_day

    def y(self, weight_g: float) -> float:
        share = (weight_g - self.low_g) / (self.high_g - self.low_g)
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share

    def path(self, points: Sequence[tuple[float, float]]) -> str:
        return "M" + "L".join(f"{self.x(day):.1f} {self.y(weight_g):.1f}" for day, weight_g in points)


def curve(seen: Outlook) -> Curve | None:
    """None while there is no cut or no forecast to draw."""
    forecast, now_day = seen.forecast, seen.cure_day
    if not isinstance(forecast, drying.CureForecast) or now_day is None:
        return None
    last_day = max(1.15 * forecast.settled_day.p90, now_day + 3, 35.0)
    days = np.linspace(0, last_day, COURSE_POINTS)
    course = forecast.course([float(day) for day in days])
    weighed = _weighed(seen, forecast)
    highest = max([course[0].weight_g.p90, *(weight_g for _, weight_g, _, _ in weighed)])
    span = highest - forecast.ceiling_g
    frame = Frame(last_day, forecast.ceiling_g - 0.06 * span, highest + 0.03 * span)
    band = [(p.day, p.weight_g.p90) for p in course] + [(p.day, p.weight_g.p10) for p in reversed(course)]
    middle = [(p.day, p.weight_g.p50) for p in course]
    known_day = evidence.known_day(seen.record)
    seam = (known_day, forecast.weight_at(known_day).p50)
    return Curve(
        band=frame.path(band) + "Z",
        past=frame.path([p for p in middle if p[0] < known_day] + [seam]),
        to_come=frame.path([seam] + [p for p in middle if p[0] > known_day]),
        points=tuple(Point(frame.x(day), frame.y(g), odd, words) for day, g, odd, words in weighed),
        ceiling_y=frame.y(forecast.ceiling_g),
        today_x=frame.x(now_day),
        settled=(frame.x(forecast.settled_day.p50), frame.x(min(forecast.settled_day.p90, last_day))),
        x_ticks=_date_ticks(seen, frame),
        y_ticks=_mass_ticks(frame, seen.workshop.mass_unit),
        table=_table(seen, forecast),
        many_bars=len(seen.loaf.bars.all()) > 1,
    )


def _weighed(seen: Outlook, forecast: drying.CureForecast) -> list[tuple[float, float, bool, str]]:
    """Weighings brought to the mean bar: a bar's weight times mean bar over that bar, both as the course sees them."""
    odd = {(d.bar_id, round(d.day, 3)) for d in forecast.doubtful}
    found = []
    for fact in seen.record.standing(Weighing):
        numbers = [str(bar.number) for bar in fact.bars.all()]
        day = evidence.days_after(seen.record.cut_at, fact.happened_at)
        drawn_g = float(np.median(forecast.drawn_weight(numbers, day)))
        mean_g = fact.weight_g * forecast.weight_at(day).p50 / drawn_g
        found.append((day, mean_g, ("+".join(numbers), round(day, 3)) in odd, fact.words))
    return found


def _date_ticks(seen: Outlook, frame: Frame) -> tuple[Tick, ...]:
    start = seen.workshop.local(seen.record.cut_at)
    step = next(days for days in (7, 14, 28, 56, 84, 168, 336) if frame.last_day / days <= 4.2 or days == 336)
    days = range(0, int(frame.last_day) + 1, step)
    return tuple(Tick(frame.x(day), date_format(start + timedelta(days=day), "j M")) for day in days)


def _mass_ticks(frame: Frame, unit: str) -> tuple[Tick, ...]:
    low, high = units.from_grams(frame.low_g, unit), units.from_grams(frame.high_g, unit)
    rough = (high - low) / 4
    size = 10.0 ** np.floor(np.log10(rough))
    step = next(float(size * m) for m in (1, 2, 5, 10) if size * m >= rough)
    marks = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    digits = max(0, -int(np.floor(np.log10(step))))
    return tuple(Tick(frame.y(units.grams(float(m), unit)), units.plain(float(m), digits)) for m in marks)


def _table(seen: Outlook, forecast: drying.CureForecast) -> tuple[TableRow, ...]:
    unit = seen.workshop.mass_unit
    digits = 2 if unit == "oz" else 1

    def shown(value_g: float) -> str:
        return units.mass_words(value_g, unit, digits)

    start = seen.workshop.local(seen.record.cut_at)
    rows = [
        TableRow(date_format(seen.workshop.local(f.happened_at), "j M"), f.words_in(unit), False)
        for f in seen.record.standing(Weighing)
    ]
    assert seen.cure_day is not None
    for day in (28, 42, 56, 90):
        if day > seen.cure_day:
            likely = forecast.weight_at(day)
            words = f"mean bar likely {shown(likely.p50)} ({shown(likely.p10)} to {shown(likely.p90)})"
            rows.append(TableRow(date_format(start + timedelta(days=day), "j M"), words, True))
    return tuple(rows)
