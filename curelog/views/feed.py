"""The calendar feed, opened by its address alone: calendar programs do not sign in."""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from curelog.calendar_text import calendar
from curelog.models import FeedAddress, Workshop
from curelog.reminders import feed as reminders


@login_not_required
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    if not opens(token):
        raise Http404
    found = reminders.entries(reminders.rows(timezone.now()), request.build_absolute_uri("/").rstrip("/"))
    text = calendar(Workshop.current().name, found)
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response.headers["Cache-Control"] = "private, no-store"
    return response


def opens(token: str) -> bool:
    """Whose address it is stands before the dash; only the secret after it opens anything."""
    person, _, secret = token.partition("-")
    known = (
        FeedAddress.objects.filter(pk=int(person)).first()
        if person.isascii() and person.isdecimal()
        else None
    )
    # Somebody who is not there takes as long as a wrong secret.
    return (known or FeedAddress(person_id=0)).opens_with(secret) and known is not None
