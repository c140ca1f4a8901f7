"""One loaf: where it stands, what wants doing, its curve, its photos, its history."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from curelog.charts import curve
from curelog.models import Loaf
from curelog.models.outlook import Outlook, outlook
from curelog.models.record import with_facts


def outlook_of(request: HttpRequest, key: UUID) -> Outlook:
    loaf = get_object_or_404(with_facts(Loaf.objects.all()), pk=key)
    return outlook(loaf, request.workshop, timezone.now())


def loaf(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = outlook_of(request, key)
    context = {"seen": seen, "loaf": seen.loaf, "record": seen.record, "curve": curve(seen)}
    return render(request, "loaves/loaf.html", context)
