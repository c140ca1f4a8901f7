"""The curing room: what was read, by hand and by sensors, and the door that sensors knock at."""

import json
from contextlib import suppress
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from curelog import wording
from curelog.actions import room as actions
from curelog.domain.climate import vapour_deficit_kpa
from curelog.forms.room import ReadingForm, SensorForm, SentForm
from curelog.models import RoomReading, RoomSensor, Workshop
from curelog.models.outlook import room_log
from curelog.models.room import LEAST_DAYS_FOR_USUAL, RoomDayMean, day_means
from curelog.room_chart import room_chart
from curelog.views.access import Request, owner_only

SHOWN_DAYS = 56
SHOWN_READINGS = 12
LONGEST_BODY = 4096


def room(request: Request) -> HttpResponse:
    form = ReadingForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        data = form.cleaned_data
        actions.note_reading(
            data["key"], data["at"], form.air, request.workshop, place=data["place"], by=request.user
        )
        messages.success(request, "The reading is kept.", extra_tags="good")
        return redirect("room")
    return render(
        request, "room/index.html", seen(request) | {"form": form}, status=422 if form.is_bound else 200
    )


def seen(request: Request) -> dict[str, Any]:
    now, workshop = timezone.now(), request.workshop
    last = workshop.local(now).date()
    first = last - timedelta(days=SHOWN_DAYS)
    days = day_means(first, last + timedelta(days=1))
    log = room_log(workshop, now)
    known = log.between(now - timedelta(days=365), now)
    return {
        "days": days[::-1],
        "chart": room_chart(days, first, last, workshop.temperature_unit),
        "readings": RoomReading.objects.select_related("sensor", "by")[:SHOWN_READINGS],
        "usual": log.usual(now),
        "air": air_words(days, log.usual(now)),
        "known_days": len(known),
        "is_usual_read": len(known) >= LEAST_DAYS_FOR_USUAL,
        "least_days": LEAST_DAYS_FOR_USUAL,
    }


def air_words(days: list[RoomDayMean], usual: tuple[float, float]) -> str:
    """How much vapour the last day's air could still take up, beside the room's usual air."""
    known = [(day.rh, day.temp_c) for day in days if day.rh is not None and day.temp_c is not None]
    return wording.air(vapour_deficit_kpa(*known[-1]), vapour_deficit_kpa(*usual)) if known else ""


@require_POST
def leave_out(request: Request, key: UUID) -> HttpResponse:
    """Or takes one back in that was left out."""
    reading = get_object_or_404(RoomReading, pk=key)
    actions.leave_out(reading, is_wrong=reading.left_out_at is None)
    words = "The reading counts again." if reading.left_out_at is None else "The reading no longer counts."
    messages.success(request, words, extra_tags="good")
    return redirect("room")


@owner_only
@never_cache
def sensors(request: Request) -> HttpResponse:
    form = SensorForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        return token_page(request, *actions.add_sensor(**form.cleaned_data, by=request.user))
    context = {"form": form, "sensors": RoomSensor.objects.all()}
    return render(request, "room/sensors.html", context, status=422 if form.is_bound else 200)


@owner_only
@never_cache
@require_POST
def renew(request: Request, key: UUID) -> HttpResponse:
    sensor = get_object_or_404(RoomSensor, pk=key)
    return token_page(request, sensor, actions.new_token(sensor))


def token_page(request: Request, sensor: RoomSensor, token: str) -> HttpResponse:
    """Part of the answer and kept nowhere: there is no second look at it."""
    address = request.build_absolute_uri(reverse("sensor_reading"))
    return render(request, "room/token.html", {"sensor": sensor, "token": token, "address": address})


@owner_only
@require_POST
def retire(request: Request, key: UUID) -> HttpResponse:
    sensor = get_object_or_404(RoomSensor, pk=key)
    actions.retire_sensor(sensor, not sensor.is_retired)
    words = "is not listened to any more" if sensor.is_retired else "is listened to again"
    messages.success(request, f"{sensor.name} {words}.", extra_tags="good")
    return redirect("sensors")


@csrf_exempt
@login_not_required
@require_POST
def sensor_reading(request: HttpRequest) -> JsonResponse:
    """For machines: JSON or a form, a token in the header or in it. No cookie is read, so there is none to abuse."""
    try:
        told = sent(request)
    except BadRequest as why:
        return JsonResponse({"error": str(why)}, status=400)
    sensor = actions.sensor_of(token_in(request, told))
    if sensor is None:
        return JsonResponse({"error": "This token opens nothing."}, status=401)
    workshop = Workshop.current()
    form = SentForm(told, workshop)
    if not form.is_valid():
        return JsonResponse({"error": form.words}, status=422)
    try:
        reading = actions.hear(sensor, form.cleaned_data["at"], form.air, workshop)
    except actions.TooSoon:
        wait = {"Retry-After": str(int(actions.LEAST_GAP.total_seconds()))}
        return JsonResponse({"error": "Heard a moment ago: one reading a minute."}, status=429, headers=wait)
    return JsonResponse({"kept": reading.at.isoformat()}, status=201)


def sent(request: HttpRequest) -> dict[str, Any]:
    if len(request.body) > LONGEST_BODY:
        raise BadRequest("Too long for one reading.")
    if request.content_type != "application/json":
        return request.POST.dict()
    with suppress(ValueError, RecursionError):
        told = json.loads(request.body)
        if isinstance(told, dict):
            return told
    raise BadRequest("This is not a JSON object.")


def token_in(request: HttpRequest, told: dict[str, Any]) -> str:
    kind, _, token = request.headers.get("Authorization", "").partition(" ")
    return token.strip() if kind.lower() == "bearer" else str(told.get("token", ""))
