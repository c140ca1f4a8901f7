"""A loaf's facts in the shape the reminders' domain asks for."""

from datetime import timedelta

from curelog.domain.reminding import Story
from curelog.models import Check, Weighing, evidence
from curelog.models.outlook import Outlook
from curelog.models.record import Record

LOOKS = (Check.Kind.LOOK, Check.Kind.SPOTS)


def story_of(seen: Outlook) -> Story:
    record = seen.record
    poured_at = seen.loaf.batch.poured_at
    felt = evidence.firmness_checks(record, seen.now)
    weighing = record.last(Weighing)
    return Story(
        standing=seen.standing,
        felt_at=poured_at + timedelta(hours=felt[-1].hours) if felt else poured_at,
        checks=len(felt),
        cut_day=seen.workshop.local(record.cut.happened_at).date() if record.cut else None,
        weighed_at=weighing.happened_at if weighing else None,
        weighings=len(record.standing(Weighing)),
        looked_at=max((fact.happened_at for fact in looks(record)), default=None),
        open_fails=tuple((str(fact.pk), fact.happened_at) for fact in record.open_fails),
    )


def looks(record: Record) -> list[Check]:
    return [fact for fact in record.standing(Check) if fact.kind in LOOKS]
