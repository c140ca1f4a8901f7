"""The bell: what comes, what was sent and how it went; and a loaf's own reminders."""

from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from curelog.actions import reminding
from curelog.domain.reminding import Kind
from curelog.forms.reminders import OwnReminderForm
from curelog.models import Delivery, Loaf, Receiver, Reminder
from curelog.reminders.composing import path_of
from curelog.reminders.review import review
from curelog.views.access import Request

COMING, SENT = 10, 60
REVIEWED = timedelta(days=3)


@dataclass(frozen=True)
class Coming:
    reminder: Reminder
    url: str


@dataclass(frozen=True)
class Sent:
    """One message."""

    deliveries: list[Delivery]

    @property
    def first(self) -> Delivery:
        return self.deliveries[0]


def bell(request: Request) -> HttpResponse:
    now = timezone.now()
    waiting = (
        Reminder.objects.filter(due_at__isnull=False).select_related("loaf__batch", "by").order_by("due_at")
    )
    context = {
        "coming": [Coming(row, path_of(row)) for row in waiting[:COMING]],
        "sent": sent_messages(),
        "review": review(now - REVIEWED, now)[::-1],
        "has_receiver": Receiver.objects.filter(person=request.user, closed_at=None).exists(),
    }
    return render(request, "reminders/index.html", context)


def sent_messages() -> list[Sent]:
    rows = Delivery.objects.select_related("reminder__loaf__batch", "receiver__person")
    latest = rows.exclude(state=Delivery.State.DROPPED).order_by("-made_at", "message", "pk")[:SENT]
    together = groupby(latest, key=lambda delivery: delivery.message or delivery.pk)
    return [Sent(list(found)) for _, found in together]


def own(request: Request, key: UUID) -> HttpResponse:
    """A date and a note on a loaf."""
    loaf = get_object_or_404(Loaf.objects.select_related("batch"), pk=key)
    form = OwnReminderForm(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        data = form.cleaned_data
        reminding.set_own(loaf, data["key"], data["at"], data["note"], request.user)
        messages.success(request, "You will be reminded.", extra_tags="good")
        return redirect("loaf", key=loaf.pk)
    mine = Reminder.objects.filter(loaf=loaf, kind=Kind.OWN, due_at__isnull=False)
    context = {"form": form, "loaf": loaf, "waiting": mine.select_related("by")}
    return render(request, "reminders/own.html", context, status=422 if form.is_bound else 200)


@require_POST
def drop_own(request: Request, pk: int) -> HttpResponse:
    reminder = get_object_or_404(Reminder, pk=pk, kind=Kind.OWN)
    reminding.drop_own(reminder)
    messages.success(request, "It is taken out.", extra_tags="good")
    return redirect("own_reminder", key=reminder.loaf_id)
