"""The small drawing of a loaf: where it stands by its shape, how much of its water is left by the hatched height."""

from dataclasses import dataclass

from curelog.domain.lifecycle import Stage
from curelog.models.outlook import Outlook

TOP, BOTTOM = 16.0, 46.0
BAR_PLACES = (4, 17, 30, 43)
SHAPES = {Stage.MOULD: "mould", Stage.UNMOULDED: "block"}


@dataclass(frozen=True)
class LoafMark:
    """`water_y`, `water_height` in the drawing's units; `words` for those who cannot see it."""

    shape: str
    water_y: float
    water_height: float
    sign: str
    words: str
    places: tuple[int, ...] = BAR_PLACES


def mark(seen: Outlook) -> LoafMark:
    standing = seen.standing
    gone = seen.summary.water_gone(seen.cure_day) if seen.summary and seen.cure_day is not None else 0.0
    height = (BOTTOM - TOP) * (1 - gone)
    words = standing.stage.words
    if seen.record.cut and seen.summary:
        words += f", about {round(100 * gone, -1):.0f} % of its water gone"
    return LoafMark(SHAPES.get(standing.stage, "bars"), BOTTOM - height, height, _sign(seen), words)


def _sign(seen: Outlook) -> str:
    standing = seen.standing
    if standing.past_cut_by:
        return "crack"
    if standing.is_held_back:
        return "hold"
    return {Stage.READY: "ready", Stage.RELEASED: "released", Stage.FINISHED: "done"}.get(standing.stage, "")
