"""Delivering: claim by conditional update, send, mark. A crash between two steps costs at most one repeat."""

import logging
from collections.abc import Mapping
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db.models import Q, QuerySet
from django.utils import timezone

from curelog.channels.message import Channel, Outcome, Result
from curelog.models import Delivery, Receiver, Workshop
from curelog.reminders.composing import compose
from curelog.reminders.giving import rest_until

logger = logging.getLogger(__name__)

State = Delivery.State
# Longer than any channel takes over one message.
CLAIM_HOLDS = timedelta(minutes=2)
FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=1)
MOST_TRIES = 14
MOST_IN_ONE = 50
PLANNED = Q(reminder__loaf__to_replan=None) | Q(reminder__loaf__to_replan__tries__gt=0)


def deliver(channels: Mapping[str, Channel]) -> int:
    """One message at most to each receiver that has something waiting. How many were tried."""
    now = timezone.now()
    recover(now)
    drop_untrue(now)
    keys = waiting(now).values_list("receiver", flat=True).distinct()
    receivers = Receiver.objects.filter(pk__in=list(keys), closed_at=None).order_by("pk")
    return sum(deliver_to(receiver, channels) for receiver in receivers)


def waiting(now: datetime) -> QuerySet[Delivery]:
    return Delivery.objects.filter(PLANNED, state=State.WAITING, next_try_at__lte=now)


def deliver_to(receiver: Receiver, channels: Mapping[str, Channel]) -> bool:
    now = timezone.now()
    message_key = claim(receiver, now)
    if message_key is None:
        return False
    mine = Delivery.objects.filter(message=message_key, state=State.SENDING)
    claimed = list(mine.select_related("reminder__loaf__batch"))
    message = compose(claimed, Workshop.current(), now)
    Delivery.objects.bulk_update(claimed, ["words"])
    try:
        outcome = channels[receiver.channel].send(receiver, message)
    except Exception as error:  # whatever a channel trips over must not stop the other receivers
        logger.exception("Channel %s failed", receiver.channel)
        outcome = Outcome(Result.LATER, f"Sending failed ({type(error).__name__}).")
    note(mine, receiver, outcome, timezone.now())
    return True


def claim(receiver: Receiver, now: datetime) -> UUID | None:
    """Takes what waits for a receiver. Of two workers that saw the same row, one gets it."""
    seen = list(waiting(now).filter(receiver=receiver).select_related("reminder")[:MOST_IN_ONE])
    quiet = Workshop.current().quiet_hours
    keys = []
    for delivery in seen:
        if rest := rest_until(delivery.reminder, delivery.due_at, quiet, now):
            Delivery.objects.filter(pk=delivery.pk, state=State.WAITING).update(next_try_at=rest)
        else:
            keys.append(delivery.pk)
    message_key = uuid4()
    free = Delivery.objects.filter(pk__in=keys, state=State.WAITING)
    return message_key if free.update(state=State.SENDING, message=message_key, claimed_at=now) else None


def note(mine: QuerySet[Delivery], receiver: Receiver, outcome: Outcome, now: datetime) -> None:
    """What came of it. Rows that another worker has recovered meanwhile are not touched: they are no longer ours."""
    if outcome.result is Result.SENT:
        mine.update(state=State.SENT, ended_at=now)
    elif outcome.result is Result.LATER:
        for delivery in mine:
            put_off(delivery, outcome, now)
    else:
        mine.update(state=State.FAILED, ended_at=now, trouble=outcome.why)
    if outcome.result is Result.GONE:
        receiver.close(now, outcome.why)
        left = Delivery.objects.filter(receiver=receiver, state=State.WAITING)
        left.update(state=State.FAILED, ended_at=now, trouble=outcome.why)


def put_off(delivery: Delivery, outcome: Outcome, now: datetime) -> None:
    tries = delivery.tries + 1
    changes: dict[str, object] = {"state": State.FAILED, "ended_at": now}
    if tries < MOST_TRIES:
        wait = max(min(FIRST_WAIT * 2**delivery.tries, LONGEST_WAIT), timedelta(seconds=outcome.wait_s))
        changes = {"state": State.WAITING, "next_try_at": now + wait, "message": None}
    Delivery.objects.filter(pk=delivery.pk, state=State.SENDING, message=delivery.message).update(
        tries=tries, trouble=outcome.why, **changes
    )


def recover(now: datetime) -> None:
    """A claim that was never marked: its worker died, perhaps after sending. It is sent once more, not twice more."""
    lost = Delivery.objects.filter(state=State.SENDING, claimed_at__lt=now - CLAIM_HOLDS)
    why = "Perhaps sent: the server stopped twice while sending it."
    lost.filter(was_recovered=True).update(state=State.FAILED, ended_at=now, trouble=why)
    lost.filter(was_recovered=False).update(
        state=State.WAITING, was_recovered=True, next_try_at=now, message=None
    )


def drop_untrue(now: datetime) -> None:
    untrue = Delivery.objects.filter(state=State.WAITING, reminder__until__lte=now)
    why = "It was no longer true by the time it could be sent."
    untrue.update(state=State.DROPPED, ended_at=now, trouble=why)
