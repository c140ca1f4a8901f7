"""Test bars of a told loaf: cut, weighed over the months, bevelled; with the slips that happen to everybody."""

from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curelog.demo import drying
from curelog.demo.shed import HELPER, OWNER, Telling
from curelog.domain.batch import bars_expected
from curelog.models import Bar, Cut, Handling, Scale, Weighing

BEFORE_CUT_LOST = 0.006  # of the poured mass, while the loaf stands
STUCK_IN_POT_G = 9.0
BELOW_RIM_MM = 5.0
TRIMMINGS_G = 4.0
FINE_SCALE_FROM_DAY = 40.0
PLANED_G = 2.4
TRAY_G = 41.0
MISTYPED_G = 90.0


class ToldBars:
    """Three bars of the loaf on their way: near one end, the middle, near the other end."""

    def __init__(self, story: Telling) -> None:
        self.story, self.shed, self.life = story, story.shed, story.life
        loaf, rng = story.loaf, story.shed.rng
        self.thickness_mm = loaf.batch.bar_thickness_mm
        assert loaf.length_mm
        self.count = bars_expected(loaf.length_mm, self.thickness_mm)
        self.numbers = (2, (self.count + 1) // 2, self.count - 1)
        self.all_g = loaf.poured_g * (1 - BEFORE_CUT_LOST) - STUCK_IN_POT_G
        self.cut_g = self.all_g / self.count * (1 + rng.normal(0, 0.025, 3))
        self.taken_off_g = np.zeros(3)
        days_left = (story.shed.now - story.cut_at).days + 2
        self.course = drying.course(loaf.batch.water_share, self.thickness_mm, story.shed.air[-days_left:])

    def weights_g(self, day: float) -> NDArray[np.float64]:
        left = np.interp(day, np.arange(len(self.course)), self.course)
        return np.asarray(self.cut_g * left - self.taken_off_g)

    def cut(self) -> None:
        story, loaf = self.story, self.story.loaf
        assert loaf.width_mm
        assert loaf.height_mm
        cut = Cut(
            result=self.life.result,
            signs=list(self.life.signs),
            bar_count=self.count,
            bar_length_mm=loaf.width_mm,
            bar_width_mm=loaf.height_mm - BELOW_RIM_MM,
            bar_thickness_mm=self.thickness_mm,
            all_bars_g=round(self.all_g - TRIMMINGS_G),
            trimmings_g=TRIMMINGS_G,
            **story.said(story.cut_at),
        )
        story.keep(cut)
        self.bars = Bar.objects.bulk_create(Bar(loaf=loaf, number=number) for number in self.numbers)
        self.weigh_singly(0.0, story.cut_at + timedelta(minutes=2), self.cut_g)

    def weigh(self, day: float) -> None:
        """Singly at first; later together on the fine scale, where a small loss still shows."""
        at, weights_g = self.story.cure_day(day), self.weights_g(day)
        if day == self.life.tray_left_on_day:
            self.keep(at, self.bars, float(weights_g.sum()) + TRAY_G, self.shed.coarse, "Was the tray tared?")
        elif day >= FINE_SCALE_FROM_DAY:
            self.keep(at, self.bars, float(weights_g.sum()), self.shed.fine)
        else:
            self.weigh_singly(day, at, weights_g)

    def weigh_singly(self, day: float, at: datetime, weights_g: NDArray[np.float64]) -> None:
        for place, bar in enumerate(self.bars):
            weight_g, minute, wrong = float(weights_g[place]), at + timedelta(minutes=place), None
            if day == self.life.mistyped_day and place == 0:
                wrong = self.keep(
                    minute, [bar], weight_g + MISTYPED_G, self.shed.coarse, "Far above the last weight."
                )
            self.keep(minute, [bar], weight_g, self.shed.coarse, corrects=wrong)

    def keep(
        self,
        at: datetime,
        bars: list[Bar],
        weight_g: float,
        scale: Scale,
        questioned: str = "",
        corrects: Weighing | None = None,
    ) -> Weighing:
        said = self.story.said(
            at, "Slip of the thumb." if corrects else "", HELPER if len(bars) > 1 else OWNER
        )
        fact = Weighing(
            weight_g=drying.on_scale(weight_g, scale.step_g),
            step_g=scale.step_g,
            scale_name=scale.name,
            questioned=questioned,
            **said | {"corrects_id": corrects.pk if corrects else None},
        )
        self.shed.weighed.append((fact, bars))
        return self.story.keep(fact)

    def plane(self) -> None:
        assert self.life.planed_day is not None
        self.taken_off_g += PLANED_G
        said = self.story.said(self.story.cure_day(self.life.planed_day), "Edges bevelled.")
        fact = Handling(kind=Handling.Kind.PLANED, loss_g=PLANED_G, **said)
        self.shed.handled.append((fact, self.bars))
        self.story.keep(fact)
