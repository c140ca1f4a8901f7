"""When the last backup was made, and how to make the next."""

from django.conf import settings
from django.db import connection
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from curelog.backup import memory
from curelog.views.access import Request, owner_only


@owner_only
def backups(request: Request) -> HttpResponse:
    context = {
        "last": memory.last_backup(settings.DATA_DIR),
        "is_due": memory.is_due(timezone.now()),
        "is_sqlite": connection.vendor == "sqlite",
        "photo_folder": settings.PHOTO_DIR,
        "old_after_days": memory.OLD_AFTER.days,
    }
    return render(request, "backups/index.html", context)
