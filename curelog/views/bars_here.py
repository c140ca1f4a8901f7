"""Bars in stock, by place."""

from django.http import HttpResponse
from django.shortcuts import render

from curelog.models.bars_here import bars_by_place, samples_kept
from curelog.views.access import Request


def bars_here(request: Request) -> HttpResponse:
    shelves = bars_by_place()
    bars = sum(shelf.bars for shelf in shelves)
    context = {"shelves": shelves, "bars": bars, "samples": samples_kept()}
    return render(request, "bars_here/index.html", context)
