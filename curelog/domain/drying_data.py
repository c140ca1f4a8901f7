"""All weighings that bear on a question, laid out for the fit: the loaf asked about first, then the past loaves."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from . import drying_prior as prior
from .drying_course import effective_size_mm
from .drying_facts import BarSeries, DryingQuestion, DryingRecipe, PastBar, Weighing
from .drying_room import Room, cut_days_earlier

# The nearest past loaves tell nearly all; more would only cost time. So would thousands of weighings.
MOST_PAST_LOAVES, MOST_PAST_BARS, MOST_PAST_WEIGHINGS = 6, 2, 12
MOST_WEIGHINGS, MOST_OF_A_BAR, LEAST_OF_A_BAR = 240, 90, 6
# A sensor that saw less than this share of the days leaves weather unseen.
SENSOR_SHARE = 0.6

Planing = tuple[int, float]


@dataclass(frozen=True, slots=True)
class Reading:
    """A weight on the scale; `bars` are places in `Data.bars`, more than one for a tray."""

    day: float
    weight_g: float
    bars: tuple[int, ...]
    step_g: float


@dataclass(frozen=True, slots=True)
class DataBar:
    """`log_weight` is the weight at the cut as expected from the size alone."""

    bar_id: str
    loaf: int
    size_mm: float
    log_weight: float
    log_weight_sd: float


@dataclass(frozen=True, slots=True)
class DataLoaf:
    recipe: DryingRecipe
    cut_days_earlier: float
    has_sensor: bool


@dataclass(slots=True)
class Data:
    """`planings`: (bar, day) of handling losses of unknown size."""

    loaves: list[DataLoaf] = field(default_factory=list)
    bars: list[DataBar] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    planings: list[Planing] = field(default_factory=list)

    def is_own(self, reading: Reading) -> bool:
        return self.bars[reading.bars[0]].loaf == 0


def gather(question: DryingQuestion, room: Room) -> Data:
    """The question's bars and trays, and the bars of its most recent past loaves."""
    data = Data([DataLoaf(question.recipe, 0.0, _has_sensor(room, question.now_day))])
    most = max(LEAST_OF_A_BAR, min(MOST_OF_A_BAR, MOST_WEIGHINGS // len(question.bars)))
    for series in question.bars:
        _add(data, series, question.resolution_g, most)
    names = [bar.bar_id for bar in question.bars]
    for tray in question.trays:
        members = tuple(names.index(bar) for bar in tray.bars)
        data.readings.append(Reading(tray.day, tray.weight_g, members, question.resolution_g))
    for earlier, bars in _past_loaves(question):
        data.loaves.append(DataLoaf(bars[0].recipe, earlier, False))
        for bar in bars:
            series = BarSeries(bar.bar_id, bar.size, bar.weighings, bar.steps)
            _add(data, series, bar.resolution_g, MOST_PAST_WEIGHINGS)
    return data


def _has_sensor(room: Room, now_day: float) -> bool:
    days = np.unique(np.floor(room.sensor_day[(room.sensor_day >= 0.0) & (room.sensor_day <= now_day)]))
    return len(days) > SENSOR_SHARE * now_day


def _past_loaves(question: DryingQuestion) -> Iterable[tuple[float, Sequence[PastBar]]]:
    loaves: dict[str, list[PastBar]] = {}
    for bar in question.history:
        if bar.weighings:
            loaves.setdefault(bar.loaf, []).append(bar)
    aged = [
        (cut_days_earlier(bars[0], question.history, question.now_day), bars[:MOST_PAST_BARS])
        for bars in loaves.values()
    ]
    return sorted(aged, key=lambda loaf: loaf[0])[:MOST_PAST_LOAVES]


def _add(data: Data, series: BarSeries, step_g: float, most: int) -> None:
    place = len(data.bars)
    for weighing in _thinned(series.weighings, most):
        planed_off = sum(step.loss_g or 0.0 for step in series.steps if step.day <= weighing.day)
        data.readings.append(Reading(weighing.day, weighing.weight_g + planed_off, (place,), step_g))
    data.planings += [(place, step.day) for step in series.steps if step.loss_g is None]
    data.bars.append(_bar(series, len(data.loaves) - 1))


def _thinned(weighings: Sequence[Weighing], most: int) -> Sequence[Weighing]:
    """At most `most` of them: the latest half as they are, the earlier ones evenly picked."""
    if len(weighings) <= most:
        return weighings
    latest = most // 2
    picked = np.linspace(0, len(weighings) - latest - 1, most - latest).round().astype(int)
    return [*(weighings[place] for place in picked), *weighings[-latest:]]


def _bar(series: BarSeries, loaf: int) -> DataBar:
    size = series.size or prior.TYPICAL_SIZE
    size_mm = effective_size_mm(size.length_mm, size.width_mm, size.thickness_mm)
    weight_g = size.length_mm * size.width_mm * size.thickness_mm * prior.DENSITY_G_PER_MM3
    spread = prior.LOG_DENSITY_SD if series.size else prior.UNKNOWN_LOG_WEIGHT_SD
    if series.size is None and series.weighings:
        weight_g = float(np.median([weighing.weight_g for weighing in series.weighings]))
    return DataBar(series.bar_id, loaf, size_mm, float(np.log(weight_g)), spread)
