"""Complaints with what was done, scale checks, cleaning. Added, never changed; sent twice they are kept once."""

from django.db import models

from curelog.models import Complaint, ComplaintStep, LogEntry

ERASED = "erased"


def keep_row(row: Complaint | ComplaintStep | LogEntry) -> None:
    kind: type[models.Model] = type(row)
    if not kind._default_manager.filter(pk=row.pk).exists():
        row.save(force_insert=True)


def erase_person(complaint: Complaint) -> None:
    """Who told it is a person's data: really gone. What was told and done stays."""
    complaint.who = ERASED
    complaint.save(update_fields=["who"])
