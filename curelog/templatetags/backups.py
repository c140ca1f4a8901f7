"""The reminder of an old backup."""

from typing import Any

from django import template
from django.conf import settings
from django.utils import timezone

from curelog.backup import memory

register = template.Library()


@register.inclusion_tag("backups/_due.html")
def backup_due() -> dict[str, Any]:
    return {"is_due": memory.is_due(timezone.now()), "last": memory.last_backup(settings.DATA_DIR)}
