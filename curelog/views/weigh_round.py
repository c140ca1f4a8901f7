"""The weigh round: all curing bars travel with the page, so that a kept copy serves for every choice of them."""

from uuid import UUID

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from curelog.models import Scale
from curelog.models.outlook import Outlook, active, outlooks
from curelog.models.tags import code_of
from curelog.models.weigh_round import Choice, RoundLoaf, round_loaves, wanted_together
from curelog.views.access import Request


def weigh_round(request: Request) -> HttpResponse:
    loaves = round_loaves(outlooks(active(), request.workshop, timezone.now()))
    choice = choice_of(request.GET)
    context = {
        "loaves": [(loaf, choice.holds(loaf), codes(loaf)) for loaf in loaves],
        "has_any": any(choice.holds(loaf) for loaf in loaves),
        "choices": choices(loaves),
        "choice": choice,
        "scales": Scale.objects.filter(is_retired=False),
    }
    return render(request, "weigh_round/index.html", context)


def choice_of(query: QueryDict) -> Choice:
    """What nobody could have meant is taken for today's round."""
    for which in ("place", "loaf"):
        if which in query:
            try:
                return Choice(which, UUID(str(query[which])))
            except ValueError:
                return Choice()
    return Choice("all") if query.get("which") == "all" else Choice()


def together_url(seen: Outlook) -> str:
    """The round with just those bars on the scale that the plan wants weighed together; empty where it wants one."""
    numbers = wanted_together(seen)
    return f"{reverse('weigh_round')}?loaf={seen.loaf.pk}&bars={','.join(numbers)}" if numbers else ""


def choices(loaves: list[RoundLoaf]) -> list[tuple[str, str, Choice]]:
    """Address, words and choice: today's bars, all, and each place where bars lie."""
    found = [("?", "Today", Choice()), ("?which=all", "All", Choice("all"))]
    places = {loaf.place.pk: loaf.place for loaf in loaves if loaf.place}
    return found + [(f"?place={key}", place.name, Choice("place", key)) for key, place in places.items()]


def codes(loaf: RoundLoaf) -> str:
    """Of the tags that lead here: a tag scanned without a network is looked up on the page."""
    return " ".join(code_of(one.pk) for one in (loaf.seen.loaf, loaf.place) if one)
