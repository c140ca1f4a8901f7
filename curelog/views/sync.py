"""Where the outboxes of phones are emptied: one entry a request, answered in JSON whatever happens.

GET  -> 200 {person, clock_off_s}; 401 when nobody is signed in
POST -> 201 taken in, 200 taken in before: both give the entry's key back, and only then does the phone drop it,
        so that a login page of somebody's wifi is never mistaken for our word
        422 makes no sense ({errors}), or the person who still stands there is asked first ({questions})
        409 the key is known with another content; 403 somebody else typed it; 404 no such loaf yet; 400 came mangled
"""

from datetime import datetime
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.db import IntegrityError, transaction
from django.http import JsonResponse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_http_methods

from curelog.actions.keeping import OtherBody
from curelog.forms.entry import Entry, Unreadable
from curelog.models import Receipt
from curelog.views.access import Request
from curelog.views.receiving import Arrival, Refused, arrival


@login_not_required
@never_cache
@ensure_csrf_cookie
@require_http_methods(["GET", "POST"])
def sync(request: Request) -> JsonResponse:
    if not request.user.is_authenticated:
        return JsonResponse({"error": "Sign in to send what waits on this phone."}, status=401)
    if request.method == "GET":
        return told(request, 200, {}, request.GET.get("sent_at", ""))
    try:
        entry = Entry.read(request)
    except Unreadable as why:
        return told(request, 400, {"error": f"It did not arrive whole: {why}"})
    try:
        status, body = received(request, entry)
    except Refused as refused:
        status, body = refused.status, refused.body
    return told(request, status, {"key": str(entry.key)} | body, entry.sent_at)


def told(request: Request, status: int, body: dict[str, Any], sent_at: str = "") -> JsonResponse:
    common = {"person": request.user.pk, "clock_off_s": clock_off_s(sent_at, timezone.now())}
    return JsonResponse(body | common, status=status)


def clock_off_s(sent_at: str, now: datetime) -> float | None:
    """How far the phone's clock is ahead of ours. None when it did not say."""
    try:
        phone = parse_datetime(sent_at)
    except ValueError:
        return None
    return (phone - now).total_seconds() if phone and phone.tzinfo else None


def received(request: Request, entry: Entry) -> tuple[int, dict[str, Any]]:
    if entry.person != request.user.pk:
        raise Refused(403, {"error": "Somebody else typed this. It waits until they sign in."})
    if is_known(entry):
        return 200, {}
    with timezone.override(entry.zone_of_then(request.workshop)):
        arrived = arrival(request, entry)
        refuse_nonsense(arrived)
        try:
            return 201, keep(entry, arrived)
        except (OtherBody, IntegrityError) as clash:
            # The same entry at the same moment, from another tab of the phone: then its receipt is there by now.
            if is_known(entry):
                return 200, {}
            if isinstance(clash, IntegrityError):
                raise
            raise other_content() from None


def is_known(entry: Entry) -> bool:
    receipt = Receipt.objects.filter(pk=entry.key).first()
    if receipt and receipt.digest != entry.digest:
        raise other_content()
    return receipt is not None


def other_content() -> Refused:
    return Refused(409, {"error": "This was kept already, with another content."})


def refuse_nonsense(arrived: Arrival) -> None:
    form = arrived.form
    if form.is_valid():
        return
    kind = "questions" if getattr(form, "is_only_questioned", False) else "errors"
    raise Refused(422, {kind: {name: list(words) for name, words in form.errors.items()}})


@transaction.atomic
def keep(entry: Entry, arrived: Arrival) -> dict[str, Any]:
    said = arrived.keep()
    Receipt.objects.create(key=entry.key, digest=entry.digest)
    return said
