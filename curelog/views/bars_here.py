"""Bars in stock, by place."""

from django.http import HttpResponse
from django.shortcuts import render

from curelog.models.bars_here import bars_by_place
from curelog.views.access import Request


def bars_here(request: Request) -> HttpResponse:
    shelves = bars_by_place()
    return render(request, "bars_here/index.html", {"shelves": shelves, "bars": sum(s.bars for s in shelves)})
