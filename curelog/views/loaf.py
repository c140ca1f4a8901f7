"""One loaf: where it stands, what wants doing, its curve, its photos, its history."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from curelog import safety, units, wording
from curelog.charts import curve
from curelog.domain.drying import CureForecast, NoForecast
from curelog.domain.lifecycle import Need, Stage
from curelog.forms.acts import ACT_FORMS, act_of
from curelog.marks import mark
from curelog.models import Fact, Loaf, Photo
from curelog.models.outlook import Outlook, outlook
from curelog.models.record import with_facts
from curelog.views.access import Request
from curelog.views.weigh_round import together_url

PRIMARY = {
    Stage.MOULD: ("firmness", "Finger check"),
    Stage.UNMOULDED: ("cut", "Cut"),
    Stage.CURING: ("weigh", "Weigh"),
    Stage.SETTLED: ("weigh", "Weigh"),
    Stage.READY: ("release", "Release"),
    Stage.RELEASED: ("leave", "Bars gone"),
}


@dataclass(frozen=True)
class HistoryLine:
    fact: Fact
    stands: bool
    correct_url: str


def outlook_of(request: Request, key: UUID) -> Outlook:
    loaf = get_object_or_404(with_facts(Loaf.objects.all()), pk=key)
    return outlook(loaf, request.workshop, timezone.now())


def loaf(request: Request, key: UUID) -> HttpResponse:
    seen = outlook_of(request, key)
    primary = primary_act(seen)
    context = {
        "seen": seen,
        "loaf": seen.loaf,
        "record": seen.record,
        "mark": mark(seen),
        "curve": curve(seen),
        "photos": seen.record.standing(Photo),
        "history": [history_line(seen, fact) for fact in seen.record.history],
        "primary": primary,
        "others": [(a, ACT_FORMS[a].title) for a in seen.standing.acts if not primary or a != primary[0]],
        **words_of(seen),
    }
    return render(request, "loaves/loaf.html", context)


def primary_act(seen: Outlook) -> tuple[str, str] | None:
    """What the thumb finds at the bottom: what wants doing, else the usual act of the stage."""
    standing = seen.standing
    if Need.CUT_NOW in standing.needs or Need.PAST_CUT_BY in standing.needs:
        return ("unmould", "Unmould") if standing.stage is Stage.MOULD else ("cut", "Cut")
    return PRIMARY.get(standing.stage)


def words_of(seen: Outlook) -> dict[str, Any]:
    batch = seen.loaf.batch
    words: dict[str, Any] = {"rule_words": wording.rule_words(batch.settled_pct, batch.settled_days)}
    if seen.window:
        words["window_rests_on"] = wording.window_rests_on(seen.window)
        words["window_is_vague"] = seen.window.closes.p10 <= seen.window.opens.p50
        words["window_sharpener"] = wording.window_sharpener(seen.window)
        words["hard_loaf_cautions"] = safety.HARD_LOAF
    if isinstance(seen.forecast, CureForecast):
        words["forecast_rests_on"] = wording.forecast_rests_on(seen.forecast.rests_on)
        words["forecast_step_g"] = seen.question.resolution_g if seen.question else 1.0
        words["doubtful"] = [(odd, day_of(seen, odd.day)) for odd in seen.forecast.doubtful]
        words["planed"] = [(bar, day_of(seen, day)) for bar, day in seen.forecast.planed]
        again = seen.summary.next_weighing if seen.summary else None
        words["next_weighing"] = again and again.words(units.written(seen.workshop.mass_unit))
        words["together_url"] = together_url(seen)
    if isinstance(seen.forecast, NoForecast):
        words["no_forecast"] = seen.forecast
    return words


def day_of(seen: Outlook, cure_day: float) -> date:
    return seen.workshop.local(seen.record.cut_at + timedelta(days=cure_day)).date()


def history_line(seen: Outlook, fact: Fact) -> HistoryLine:
    act = act_of(fact)
    url = f"{reverse('act', args=[seen.loaf.pk, act])}?corrects={fact.pk}" if act else ""
    return HistoryLine(fact, seen.record.stands(fact), url)
