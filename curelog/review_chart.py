"""Pictures of a year as points of an SVG: courses over each other, cuts by their hours, forecasts beside days."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from curelog.charts import Tick
from curelog.domain.review import Told
from curelog.models.doing import LoafDone

WIDTH, LEFT, RIGHT = 360.0, 40.0, 8.0
TOP, PLOT, BOTTOM = 14.0, 190.0, 28.0
HOUR_TICKS = (1, 3, 6, 12, 24, 48, 96, 192, 384)
LANE, DOT_STEP = 46.0, 5.0
LANES = (("too_soft", "too soft"), ("clean", "clean"), ("too_hard", "too hard"))
ROW = 24.0
NAME_WIDTH = 64.0


@dataclass(frozen=True)
class Line:
    path: str
    words: str


@dataclass(frozen=True)
class LossChart:
    """One line a loaf; the newest is drawn last and strong."""

    lines: tuple[Line, ...]
    newest: Line
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    height: float = TOP + PLOT + BOTTOM
    width: float = WIDTH
    left: float = LEFT
    top: float = TOP
    bottom: float = TOP + PLOT


def loss_chart(weighed: Sequence[LoafDone]) -> LossChart | None:
    """Newest loaf first. None while no loaf was weighed twice."""
    if not weighed:
        return None
    last_day = max(28.0, *(done.course[-1].day for done in weighed))
    least = min(point.share for done in weighed for point in done.course)
    low = min(0.9, 0.05 * (least // 0.05))

    def x(day: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * day / last_day

    def y(share: float) -> float:
        return TOP + PLOT * (1.0 - share) / (1.0 - low)

    def line(done: LoafDone) -> Line:
        points = "L".join(f"{x(point.day):.1f} {y(point.share):.1f}" for point in done.course)
        return Line(f"M{points}", done.loaf.number)

    step = next(days for days in (7, 14, 28, 56, 112, 365) if last_day / days <= 6 or days == 365)
    newest, *others = (line(done) for done in weighed)
    percents = range(round(100 * low), 101, 5 if low >= 0.75 else 10)
    return LossChart(
        tuple(reversed(others)),
        newest,
        tuple(Tick(x(day), str(day)) for day in range(0, int(last_day) + 1, step)),
        tuple(Tick(y(percent / 100), str(percent)) for percent in percents),
    )


@dataclass(frozen=True)
class Dot:
    x: float
    y: float
    words: str


@dataclass(frozen=True)
class Lane:
    """The cuts of one result, which also have one shape."""

    result: str
    name: str
    y: float
    dots: tuple[Dot, ...]


@dataclass(frozen=True)
class CutChart:
    lanes: tuple[Lane, ...]
    x_ticks: tuple[Tick, ...]
    height: float = TOP + 3 * LANE + BOTTOM
    width: float = WIDTH
    left: float = NAME_WIDTH
    top: float = TOP
    bottom: float = TOP + 3 * LANE


def cut_chart(done: Sequence[LoafDone]) -> CutChart | None:
    """Hours after the pour on a logarithmic line, as soap firms. None while no cut has its hour."""
    cuts = [(each.cut.cut_hours, each.cut.result, each.loaf.number) for each in done if each.cut]
    if not cuts:
        return None
    hours = [max(1.0, told) for told, _, _ in cuts]
    first = max((tick for tick in HOUR_TICKS if tick <= min(hours)), default=1)
    last = min((tick for tick in HOUR_TICKS if tick >= max(hours)), default=max(hours))
    last = max(last, 4 * first)

    def x(told: float) -> float:
        across = (log(max(1.0, told)) - log(first)) / (log(last) - log(first))
        return NAME_WIDTH + 8 + (WIDTH - NAME_WIDTH - 8 - 16) * across

    lanes = tuple(
        lane(result, name, TOP + LANE * (place + 0.5), [(x(h), n) for h, r, n in cuts if r == result])
        for place, (result, name) in enumerate(LANES)
    )
    return CutChart(lanes, tuple(Tick(x(h), str(h)) for h in HOUR_TICKS if first <= h <= last))


def lane(result: str, name: str, middle: float, cuts: Sequence[tuple[float, str]]) -> Lane:
    """Dots that would hide each other are set above and below in turn."""
    taken: Counter[int] = Counter()
    dots = []
    for x, number in cuts:
        place = taken[round(x / 9)]
        taken[round(x / 9)] += 1
        off = DOT_STEP * ((place + 1) // 2) * (1 if place % 2 else -1)
        dots.append(Dot(x, middle + max(-LANE / 2 + 6, min(LANE / 2 - 6, off)), number))
    return Lane(result, name, middle, tuple(dots))


@dataclass(frozen=True)
class ForecastRow:
    name: str
    y: float
    band: tuple[float, float]
    likely_x: float
    was_x: float
    is_inside: bool

    @property
    def band_width(self) -> float:
        return self.band[1] - self.band[0]


@dataclass(frozen=True)
class ForecastChart:
    rows: tuple[ForecastRow, ...]
    x_ticks: tuple[Tick, ...]
    bottom: float
    width: float = WIDTH
    left: float = NAME_WIDTH
    top: float = TOP

    @property
    def height(self) -> float:
        return self.bottom + BOTTOM


def forecast_chart(done: Sequence[LoafDone]) -> ForecastChart | None:
    """A row for each loaf whose forecast can be judged. None while there is none."""
    told: list[tuple[str, Told]] = [(each.loaf.number, each.told) for each in done if each.told]
    if not told:
        return None
    days = [day for _, each in told for day in (each.settled_day.p10, each.settled_day.p90, each.came.day)]
    step = next(s for s in (7, 14, 28, 56, 112, 365) if (max(days) - min(days)) / s <= 5 or s == 365)
    first, last = step * (min(days) // step), step * -(-max(days) // step)
    last = max(last, first + step)

    def x(day: float) -> float:
        return NAME_WIDTH + 4 + (WIDTH - NAME_WIDTH - 4 - 16) * (day - first) / (last - first)

    rows = tuple(
        ForecastRow(
            name,
            TOP + ROW * (place + 0.5),
            (x(each.settled_day.p10), x(each.settled_day.p90)),
            x(each.settled_day.p50),
            x(each.came.day),
            each.is_inside,
        )
        for place, (name, each) in enumerate(told)
    )
    ticks = tuple(Tick(x(day), str(day)) for day in range(int(first), int(last) + 1, step))
    return ForecastChart(rows, ticks, TOP + ROW * len(rows))
