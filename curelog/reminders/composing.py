"""Several reminders for one receiver become one message."""

import hashlib
from collections.abc import Sequence
from datetime import datetime

from django.core import signing
from django.urls import reverse

from curelog.channels.message import Message
from curelog.domain.reminding import CUT_KINDS, Kind
from curelog.models import Delivery, Reminder, Workshop
from curelog.models.reminders import ON_TIME
from curelog.push.base64url import encoded
from curelog.reminders.words import told_words

ACT_OF = {
    Kind.CHECK: "firmness",
    Kind.CUT: "cut",
    Kind.CUT_BY: "cut",
    Kind.WEIGH: "weigh",
    Kind.SETTLED: "weigh",
    Kind.SPOTS: "check",
}
# In order of what is lost by waiting.
TITLES = {
    Kind.CUT_BY: "Cut",
    Kind.CUT: "Cut",
    Kind.CHECK: "Finger check",
    Kind.WEIGH: "Weigh",
    Kind.TURN: "Turn the bars",
    Kind.SPOTS: "Look for spots",
    Kind.SETTLED: "Weight settled",
    Kind.READY: "Ready",
    Kind.HELD: "Held back",
    Kind.OWN: "Your reminder",
}
ANSWER_SALT = "curelog.reminder.answer"
SHORTEST_KEEP_S = 60


def compose(deliveries: Sequence[Delivery], workshop: Workshop, now: datetime) -> Message:
    """The most urgent first; sets each delivery's words, so that the log holds what was really sent."""
    ordered = sorted(deliveries, key=lambda delivery: (rank(delivery), delivery.reminder.begins_at))
    set_words(ordered, workshop, now)
    kinds = {delivery.reminder.kind for delivery in ordered}
    until = min(delivery.reminder.until for delivery in ordered)
    return Message(
        title=title(ordered),
        lines=tuple(dict.fromkeys(delivery.words for delivery in ordered)),
        path=path(ordered),
        tag=tag(ordered),
        answer=signing.dumps([delivery.pk for delivery in ordered], salt=ANSWER_SALT, compress=True),
        is_to_note=any(delivery.reminder.kind in ACT_OF for delivery in ordered),
        is_urgent=bool(kinds & set(CUT_KINDS)),
        keep_s=max(SHORTEST_KEEP_S, int((until - now).total_seconds())),
    )


def set_words(ordered: Sequence[Delivery], workshop: Workshop, now: datetime) -> None:
    """Of a loaf that is to be cut one line says it all: the most urgent."""
    cutting: dict[object, str] = {}
    for delivery in ordered:
        is_late = now - delivery.due_at > ON_TIME and not delivery.was_asked_again
        words = told_words(delivery.reminder, delivery.due_at, is_late, now, workshop.zone)
        if delivery.reminder.kind in CUT_KINDS:
            words = cutting.setdefault(delivery.reminder.loaf_id, words)
        delivery.words = words


def rank(delivery: Delivery) -> int:
    return list(TITLES).index(Kind(delivery.reminder.kind))


def title(ordered: Sequence[Delivery]) -> str:
    acts = list(dict.fromkeys(TITLES[Kind(delivery.reminder.kind)] for delivery in ordered))
    if len(ordered) == 1:
        return f"{acts[0]}: {ordered[0].reminder.loaf.number}"
    return acts[0] if len(acts) == 1 else f"{acts[0]}, {', '.join(act.lower() for act in acts[1:])}"


def path(ordered: Sequence[Delivery]) -> str:
    """The act itself; for several loaves, Today lists them."""
    if len({delivery.reminder.loaf_id for delivery in ordered}) > 1:
        return reverse("today")
    return path_of(ordered[0].reminder)


def path_of(reminder: Reminder) -> str:
    act = ACT_OF.get(Kind(reminder.kind))
    return reverse("act", args=[reminder.loaf_id, act]) if act else reverse("loaf", args=[reminder.loaf_id])


def tag(ordered: Sequence[Delivery]) -> str:
    """The same reminders give the same tag, whoever sends them and however often. Fits a push service's Topic."""
    named = ",".join(sorted(f"{delivery.reminder_id}/{delivery.occasion}" for delivery in ordered))
    return encoded(hashlib.sha256(named.encode()).digest())[:32]
