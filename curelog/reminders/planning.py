"""Planning: from the facts of a loaf to its rows.

In the transaction of a fact a loaf that is not cut yet is planned at once: there hours count. For cut bars days
count, and the forecast takes longer than one writer should hold up the others: what the cut made needless goes at
once, and the loaf is marked. The worker plans it within seconds; until then nothing of it is told.
"""

import logging
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from curelog.domain.reminding import CUT_KINDS, wanted
from curelog.models import Cut, Fact, Finish, Loaf, Note, Photo, Reminder, ToReplan, Workshop
from curelog.models.outlook import Outlook, active, outlook
from curelog.models.record import standing, with_facts
from curelog.models.reminders import rules_for
from curelog.reminders.rows import Plan, carry_out, end
from curelog.reminders.story import story_of
from curelog.reminders.words import act_words, why_words

logger = logging.getLogger(__name__)

AT_ONCE = 20
# What is entered days later does not want planning to the second.
OLD_NEWS = timedelta(days=5)
SAY_NOTHING = (Photo, Note)
TRY_AGAIN_AFTER = timedelta(hours=1)


def replan_after(fact: Fact) -> None:
    """To be called in the transaction of each new fact."""
    if not isinstance(fact, SAY_NOTHING):
        replan(fact.loaf, fact.happened_at)


def replan(loaf: Loaf, told_at: datetime) -> None:
    """After something that happened at `told_at`."""
    now = timezone.now()
    if is_cut(loaf):
        end(Reminder.objects.filter(loaf=loaf, kind__in=CUT_KINDS), "It is cut.", now)
        mark(loaf)
        return
    if now - told_at > OLD_NEWS:
        mark(loaf)
        return
    try:
        carry_out(loaf, work_out(loaf), now)
    except (ArithmeticError, LookupError, ValueError):
        # The fact must be kept, whatever its plan trips over; the worker tries again and says so.
        logger.exception("Loaf %s could not be planned", loaf.pk)
        mark(loaf)


def is_cut(loaf: Loaf) -> bool:
    return any(standing(kind).filter(loaf=loaf).exists() for kind in (Cut, Finish))


def mark(loaf: Loaf) -> None:
    ToReplan.objects.update_or_create(loaf=loaf, defaults={"since": timezone.now(), "tries": 0})


def replan_all() -> None:
    """After a change of the workshop's clock, room, quiet hours or rules."""
    now = timezone.now()
    ToReplan.objects.update(since=now, tries=0)
    ToReplan.objects.bulk_create((ToReplan(loaf=loaf, since=now) for loaf in active()), ignore_conflicts=True)


def work_out(loaf: Loaf) -> Plan:
    """Reads and reckons; writes nothing."""
    fresh = with_facts(Loaf.objects.filter(pk=loaf.pk)).get()
    return plan_of(outlook(fresh, Workshop.current(), timezone.now()))


def plan_of(seen: Outlook) -> Plan:
    story, zone = story_of(seen), seen.workshop.zone
    recipe = seen.loaf.batch.recipe
    wants = wanted(story, rules_for(recipe.kind if recipe else ""), seen.workshop.quiet_hours, seen.now)
    number = seen.loaf.number
    return [(want, f"{number}: {act_words(want, zone)}", why_words(story, want, zone)) for want in wants]


def catch_up(now: datetime) -> int:
    """Plans marked loaves. The reckoning is done before the transaction, which then only writes."""
    ripe = ToReplan.objects.filter(Q(tries=0) | Q(since__lte=now - TRY_AGAIN_AFTER))
    marks = list(ripe.select_related("loaf__batch").order_by("tries", "since")[:AT_ONCE])
    for marked in marks:
        try:
            plan = work_out(marked.loaf)
        except Exception:  # one loaf must not stop the others
            logger.exception("Loaf %s could not be planned", marked.pk)
            ToReplan.objects.filter(pk=marked.pk).update(tries=marked.tries + 1, since=now)
            continue
        with transaction.atomic():
            # Told something new meanwhile: then the mark is a younger one, and this plan is of yesterday.
            if ToReplan.objects.filter(pk=marked.pk, since=marked.since).delete()[0]:
                carry_out(marked.loaf, plan, now)
    return len(marks)
