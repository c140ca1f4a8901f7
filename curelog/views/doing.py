"""How am I doing: pictures of the last year, and the table beneath."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from curelog.models.doing import MOST_FORECASTS, MOST_LOAVES, doing, recipes_done
from curelog.review_chart import cut_chart, forecast_chart, loss_chart
from curelog.views.access import Request


def how_am_i_doing(request: Request) -> HttpResponse:
    now, family = timezone.now(), asked_family(request)
    seen = doing(request.workshop, now, family)
    context = {
        "seen": seen,
        "losses": loss_chart(seen.weighed),
        "cuts": cut_chart(seen.cuts),
        "forecasts": forecast_chart(seen.forecast),
        "recipes": recipes_done(now),
        "family": family,
        "most_loaves": MOST_LOAVES,
        "most_forecasts": MOST_FORECASTS,
    }
    return render(request, "doing/index.html", context)


def asked_family(request: Request) -> UUID | None:
    asked = request.GET.get("recipe")
    try:
        return UUID(asked) if asked else None
    except ValueError as wrong:
        raise Http404 from wrong
