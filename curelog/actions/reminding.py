"""What people set about reminders: their own ones, where they are told, the rules; and their answers to one."""

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from curelog.domain.reminding import CUT_KINDS, Kind
from curelog.models import Delivery, FeedAddress, Loaf, Person, Receiver, Reminder, ReminderRule
from curelog.reminders.planning import replan_all
from curelog.reminders.rows import drop_waiting

OWN_IS_TRUE_FOR = timedelta(days=7)
AN_HOUR = timedelta(hours=1)


def set_own(loaf: Loaf, key: UUID, at: datetime, note: str, by: Person) -> Reminder:
    """At the very time that was chosen, quiet hours or not. The key is made with the form: sent twice, it is one."""
    values = {
        "due_at": at,
        "planned_at": at,
        "begins_at": at,
        "until": at + OWN_IS_TRUE_FOR,
        "words": f"{loaf.number}: your own reminder",
        "why": f"Set by {by.shown_name}",
        "note": note,
        "by": by,
    }
    return Reminder.objects.get_or_create(loaf=loaf, kind=Kind.OWN, series=str(key), defaults=values)[0]


def drop_own(reminder: Reminder) -> None:
    reminder.delete()


def add_browser(person: Person, name: str, endpoint: str, keys: Mapping[str, str], origin: str) -> Receiver:
    """The same browser again only gets its new keys; one that another person used before is now this person's.
    Without a name a known one keeps its own."""
    Receiver.objects.filter(channel=Receiver.Channel.PUSH, address=endpoint).exclude(person=person).delete()
    values = {"keys": dict(keys), "origin": origin} | ({"name": name} if name else {})
    return Receiver.objects.update_or_create(
        person=person,
        channel=Receiver.Channel.PUSH,
        address=endpoint,
        defaults=values,
        create_defaults=values | {"name": name or "This browser"},
    )[0]


def move_browser(person: Person, old: str, endpoint: str) -> None:
    """Its push service has given it another address: name and choices stay."""
    pushed = Receiver.objects.filter(person=person, channel=Receiver.Channel.PUSH)
    if old and not pushed.filter(address=endpoint).exists():
        pushed.filter(address=old).update(address=endpoint)


def add_mailbox(person: Person, address: str, origin: str) -> Receiver:
    return Receiver.objects.get_or_create(
        person=person,
        channel=Receiver.Channel.MAIL,
        address=address,
        defaults={"name": address[:60], "origin": origin},
    )[0]


def choose(receiver: Receiver, name: str, kinds_on: Collection[str]) -> None:
    receiver.name = name
    receiver.kinds_off = [kind.value for kind in Kind if kind not in kinds_on]
    receiver.save(update_fields=["name", "kinds_off"])


def remove(receiver: Receiver) -> None:
    receiver.delete()


def renew_feed(person: Person) -> FeedAddress:
    """The old address stops working at once."""
    feed = FeedAddress.objects.get_or_create(person=person)[0]
    feed.renew(timezone.now())
    return feed


def set_rule(kind: str, recipe_kind: str, values: Mapping[str, object]) -> None:
    ReminderRule.objects.update_or_create(kind=kind, recipe_kind=recipe_kind, defaults=values)
    replan_all()


def drop_rule(rule: ReminderRule) -> None:
    rule.delete()
    replan_all()


def say_in_an_hour(deliveries: Collection[int]) -> int:
    """Only the receiver that asked is told again; what the facts have ended meanwhile stays ended."""
    then = timezone.now() + AN_HOUR
    sent = Delivery.objects.filter(pk__in=deliveries, state=Delivery.State.SENT, reminder__is_over=False)
    return Delivery.objects.filter(pk__in=list(sent.values_list("pk", flat=True))).update(
        state=Delivery.State.WAITING,
        next_try_at=then,
        due_at=then,
        tries=0,
        message=None,
        was_asked_again=True,
        was_recovered=False,
    )


@transaction.atomic
def say_done(deliveries: Collection[int]) -> int:
    """Nobody is reminded of it again, unless a later fact asks anew. The fact itself still wants noting."""
    said = Delivery.objects.filter(pk__in=deliveries, occasion=F("reminder__occasion"))
    who = {
        delivery.reminder: delivery.receiver
        for delivery in said.select_related("reminder", "receiver__person")
    }
    for reminder, receiver in who.items():
        # Who has cut the loaf wants no "cut by" either.
        kinds = CUT_KINDS if reminder.kind in CUT_KINDS else (reminder.kind,)
        alike = Reminder.objects.filter(loaf=reminder.loaf_id, kind__in=kinds, is_over=False)
        alike = alike if reminder.kind in CUT_KINDS else alike.filter(series=reminder.series)
        drop_waiting(Delivery.objects.filter(reminder__in=alike), "Somebody said it is done.", timezone.now())
        alike.update(
            due_at=None,
            told_occasion=F("occasion"),
            outcome=Reminder.Outcome.DONE,
            outcome_why=f"{receiver.person.shown_name} said so.",
            outcome_at=timezone.now(),
        )
    return len(who)
