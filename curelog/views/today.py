"""Today: what wants doing, in order of what is lost by waiting."""

from dataclasses import dataclass
from datetime import timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from curelog import units
from curelog.domain.lifecycle import Need, Stage
from curelog.marks import LoafMark, mark
from curelog.models import Recipe
from curelog.models.outlook import Outlook, active, outlooks
from curelog.models.shelf import open_lots
from curelog.models.weigh_round import due_bars
from curelog.templatetags.moments import clock_by, clock_from, lasted, on_day
from curelog.views.access import Request
from curelog.views.weigh_round import together_url

ACT_OF = {Need.CUT_NOW: "cut", Need.PAST_CUT_BY: "cut", Need.CHECK_FIRMNESS: "firmness", Need.WEIGH: "weigh"}
TONE_OF = {Need.CUT_NOW: "warn", Need.PAST_CUT_BY: "bad", Need.HELD_BACK: "bad", Need.READY: "good"}
SOON = timedelta(days=7)


@dataclass(frozen=True)
class Item:
    seen: Outlook
    mark: LoafMark
    words: str
    tone: str
    url: str


def need_words(seen: Outlook, need: Need) -> str:
    standing, times = seen.standing, seen.standing.cut_times
    if need is Need.CUT_NOW and times:
        return f"Cut now, by {clock_by(times.cut_by)}"
    if need is Need.PAST_CUT_BY:
        return f"Past its cut-by for {lasted(standing.past_cut_by)}: cut it"
    if need is Need.CHECK_FIRMNESS and times:
        return f"Finger check: may want cutting from {clock_from(times.cut_from)}"
    if need is Need.WEIGH:
        again = seen.summary.next_weighing if seen.summary else None
        return again.words(units.written(seen.workshop.mass_unit)) if again else "Weigh a test bar"
    if need is Need.HELD_BACK:
        failed = [check.get_kind_display().lower() for check in seen.record.open_fails]
        when = "Failed after release, see where it went" if standing.stage is Stage.RELEASED else "Held back"
        return f"{when}: {', '.join(failed)} failed"
    return f"Ready: settled, old enough since {on_day(standing.old_enough)}"


def item(seen: Outlook, need: Need) -> Item:
    act = ACT_OF.get(need)
    url = reverse("act", args=[seen.loaf.pk, act]) if act else reverse("loaf", args=[seen.loaf.pk])
    if need is Need.WEIGH:
        url = together_url(seen) or url
    return Item(seen, mark(seen), need_words(seen, need), TONE_OF.get(need, ""), url)


def coming(seen: Outlook) -> Item | None:
    """What will want doing within a week."""
    times, again = seen.standing.cut_times, seen.standing.weigh_again
    today = timezone.localdate()
    url = reverse("loaf", args=[seen.loaf.pk])
    if times and times.check_from < seen.now + SOON:
        words = f"Finger check from {clock_from(times.check_from)}, cut by {clock_by(times.cut_by)}"
        return Item(seen, mark(seen), words, "", url)
    if again and today < again <= today + SOON:
        return Item(seen, mark(seen), f"Weigh {on_day(again)}", "", url)
    return None


def today(request: Request) -> HttpResponse:
    all_seen = outlooks(active(), request.workshop, timezone.now())
    wanting = [(need, seen) for seen in all_seen for need in seen.standing.needs[:1]]
    wanting.sort(key=lambda pair: (pair[0], _urgency(pair[1])))
    later = [seen for seen in all_seen if not seen.standing.needs]
    context = {
        "items": [item(seen, need) for need, seen in wanting],
        "round_bars": due_bars(all_seen),
        "coming": [found for seen in later if (found := coming(seen))],
        "has_loaves": bool(all_seen),
        "wanting_lots": sum(bool(each.concerns) for each in open_lots(timezone.localdate())),
        "has_recipes": Recipe.objects.filter(is_current=True).exists(),
    }
    return render(request, "today/index.html", context)


def _urgency(seen: Outlook) -> float:
    """Within one kind of need: the loaf whose moment came first."""
    times = seen.standing.cut_times
    return (times.cut_by if times else seen.loaf.batch.poured_at).timestamp()
