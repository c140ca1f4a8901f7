"""Where the demo's bars lie, and how they leave: released with a weight, a sample kept back, sold."""

from datetime import timedelta

from curelog import wording
from curelog.demo.bars import ToldBars
from curelog.demo.shed import HELPER, Telling
from curelog.demo.story import CRATE, Parting
from curelog.domain.lots import AllTogether, Sample, net_weight_of
from curelog.domain.net_rules import RuleName
from curelog.domain.netweight import Left
from curelog.models import Leaving, Move, Release
from curelog.models.promise import Promise, Wish

RULE: RuleName = "average_eu"
SOLD_WITHIN_DAYS = 180
# What a bar of that age was told to lose at most, at least and likely until then; the next minutes cost nothing.
UNTIL_SOLD, PACKED = Left(0.965, 0.98, 0.99), Left(1.0, 1.0, 1.0)
SAMPLE_MOVED_AFTER_DAYS = 12.0


def put(story: Telling, name: str, day: float, part: str = Move.Part.BARS) -> None:
    said = story.said(story.cure_day(day), by=HELPER)
    story.keep(Move(place=story.shed.places[name], part=part, **said))


def release(story: Telling, bars: ToldBars) -> None:
    """As the form would have worked it out that day, with a drying told here instead of a forecast."""
    life, day = story.life, story.life.released_day
    assert day is not None
    at = story.cure_day(day)
    hold_until = (story.shed.workshop.local(at) + timedelta(days=SOLD_WITHIN_DAYS)).date()
    wish = Wish(RULE, hold_until, bars.count - 1)
    weighed_g = bars.weights_g(day)
    together = AllTogether(bars.all_g * float(weighed_g.sum() / bars.cut_g.sum()), bars.count)
    sample = Sample(tuple(float(weight_g) for weight_g in weighed_g), bars.count - 1, loaf=together)
    held, packed = (net_weight_of(sample, left, RULE) for left in (UNTIL_SOLD, PACKED))
    weighed_at = story.cure_day(max(told for told in life.rounds if told <= day))
    promise = Promise(wish, held, packed, sample, story.shed.workshop.local(weighed_at), 0, None, None)
    story.keep(
        Release(
            bar_count=bars.count - 1,
            sample_place=story.shed.places[life.sample_in],
            declared_g=held.declare_g,
            rule=RULE,
            hold_until=hold_until,
            basis=wording.promise_basis(promise),
            early_why=life.early_why,
            **story.said(at),
        )
    )
    put(story, CRATE, day + 0.1)
    if life.sample_to:
        put(story, life.sample_to, day + SAMPLE_MOVED_AFTER_DAYS, Move.Part.SAMPLE)


def part(story: Telling, parting: Parting) -> None:
    day, kind, bar_count, to_whom = parting
    said = story.said(story.cure_day(day), by=HELPER)
    story.keep(Leaving(kind=kind, bar_count=bar_count, to_whom=to_whom, **said))
