"""The demo's books: complaints, scales held against a known mass, and what was cleaned."""

from datetime import datetime, timedelta
from uuid import uuid5

from curelog.demo.pantry import NAMESPACE
from curelog.demo.shed import HELPER, OWNER, Shed
from curelog.models import Batch, Complaint, ComplaintStep, LogEntry

# Days ago, what the scale showed of 200 g.
SCALE_CHECKS = ((96, 200.0), (61, 200.1), (30, 200.4), (29, 200.0))
CLEANED = (
    (90, "Moulds and liners"),
    (58, "Curing rack, all boards"),
    (26, "Cutter and wires"),
    (5, "Moulds and liners"),
)


def write_books(shed: Shed) -> None:
    owner, helper = shed.people[OWNER], shed.people[HELPER]
    checks = [
        LogEntry(
            kind=LogEntry.Kind.SCALE,
            what=shed.fine.name,
            reference_g=200.0,
            shown_g=shown_g,
            tolerance_g=0.2,
            note="Batteries changed, held against it again the next day." if shown_g > 200.2 else "",
            by=helper,
            **_at(shed, days_ago, "scale"),
        )
        for days_ago, shown_g in SCALE_CHECKS
    ]
    cleaned = [
        LogEntry(kind=LogEntry.Kind.CLEANING, what=what, by=helper, **_at(shed, days_ago, "cleaned"))
        for days_ago, what in CLEANED
    ]
    LogEntry.objects.bulk_create([*checks, *cleaned])
    complain(shed, owner=owner.pk)


def complain(shed: Shed, owner: int) -> None:
    sold = Batch.objects.filter(loaves__leaving__kind="sold").order_by("poured_at").first()
    itch = Complaint(
        batch=sold,
        by_id=owner,
        who="Mrs Aldermoss, at the market",
        what="Dry, itching hands after two days with the Pantry bar.",
        is_adverse=True,
        **_at(shed, 16, "itch"),
    )
    soft = Complaint(
        by_id=owner,
        who="",
        what="A bar went soft in its dish. No number on the wrapper.",
        **_at(shed, 4, "soft"),
    )
    Complaint.objects.bulk_create([itch, soft])
    asked = ComplaintStep(
        complaint=itch,
        by_id=owner,
        done="Told to stop and to see a doctor; asked for the rest of the bar.",
        **_at(shed, 16, "asked"),
    )
    looked = ComplaintStep(
        complaint=itch,
        by_id=owner,
        done="Retained sample titrated again: 0.02 % NaOH. Hands are well since she stopped.",
        closes=True,
        **_at(shed, 9, "looked"),
    )
    ComplaintStep.objects.bulk_create([asked, looked])


def _at(shed: Shed, days_ago: int, name: str) -> dict[str, object]:
    at: datetime = shed.workshop.local(shed.now - timedelta(days=days_ago)).replace(hour=17, minute=5)
    return {"id": uuid5(NAMESPACE, f"{name} {days_ago}"), "at": at, "received_at": at}
