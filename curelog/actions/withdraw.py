"""Taking a fact back: a new fact of the same kind that points at it and says why."""

from django.db import transaction

from curelog.actions.keeping import Told
from curelog.models import Fact
from curelog.reminders.planning import replan_after


@transaction.atomic
def withdraw(fact: Fact, told: Told, reason: str) -> Fact:
    """The old fact stays in the history, no longer standing."""
    kind = type(fact)
    known = kind._default_manager.filter(pk=told.key).first()
    if known:
        return known
    values = {
        f.attname: getattr(fact, f.attname) for f in fact._meta.concrete_fields if f.name != "received_at"
    }
    values |= {"id": told.key, "by_id": told.by.pk if told.by else None, "origin": told.origin}
    taken_back = kind(**values | {"corrects_id": fact.pk, "withdrawn": reason, "misplaced": ""})
    taken_back.save(force_insert=True)
    if hasattr(fact, "bars"):
        taken_back.bars.set(fact.bars.all())  # type: ignore[attr-defined]
    replan_after(taken_back)
    return taken_back
