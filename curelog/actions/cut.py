"""The cut: bars come of the loaf, and some of them are numbered to be weighed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction

from curelog.actions.cure import number_bar, weigh
from curelog.actions.keeping import Told, keep
from curelog.models import Cut, Loaf, Scale


@dataclass(frozen=True)
class CutBars:
    """What came of it: how many bars, their size in mm, and when weighed all of them and the trimmings in g."""

    count: int
    length_mm: float
    width_mm: float
    thickness_mm: float
    all_g: float | None = None
    trimmings_g: float | None = None


@transaction.atomic
def cut(
    loaf: Loaf,
    told: Told,
    result: str,
    bars: CutBars,
    signs: Sequence[str] = (),
    tool: str = Cut.Tool.WIRE,
    weights_g: Mapping[int, float] | None = None,
    scale: Scale | None = None,
) -> Cut:
    """Stores the cut, makes the test bars named in `weights_g` and keeps their first weights."""
    fact = Cut(
        loaf=loaf,
        result=result,
        signs=list(signs),
        bar_count=bars.count,
        bar_length_mm=bars.length_mm,
        bar_width_mm=bars.width_mm,
        bar_thickness_mm=bars.thickness_mm,
        tool=tool,
        all_bars_g=bars.all_g,
        trimmings_g=bars.trimmings_g,
        **told.fields,
    )
    kept = keep(fact, "cut")
    for number, weight_g in (weights_g or {}).items():
        weigh(loaf, told.part(f"bar {number}"), [number_bar(loaf, number)], weight_g, scale)
    return kept
