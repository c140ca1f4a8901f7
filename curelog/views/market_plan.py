"""Plan for a date: pour by when, so that there are bars for a market day."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from curelog.forms.market_plan import MarketPlanForm
from curelog.models.market_plan import market_plan
from curelog.models.racks import racks
from curelog.views.access import Request
from curelog.views.recipes import current_recipes

CLASHES_SHOWN = 8


def plan(request: Request) -> HttpResponse:
    """Without a day the form is shown, with what the address already names."""
    is_asked = "day" in request.GET
    form = MarketPlanForm(
        request.GET if is_asked else None,
        workshop=request.workshop,
        recipes=current_recipes(),
        initial=request.GET.dict(),
    )
    context = {"form": form, "clashes_shown": CLASHES_SHOWN}
    if form.is_valid():
        day, now = form.cleaned_data["day"], timezone.now()
        context["plan"] = market_plan(form.wishes, day, request.workshop, now)
        context["racks"] = racks()
    return render(request, "plan/index.html", context, status=422 if form.errors else 200)
