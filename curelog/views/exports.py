"""Taking everything away: a page that says what it is, and the zip itself."""

from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from curelog.exports.stream import export as make
from curelog.views.access import Request, owner_only


@owner_only
def exports(request: Request) -> HttpResponse:
    return render(request, "exports/index.html")


@owner_only  # type: ignore[arg-type]  # a stream is no HttpResponse to the type checker
@never_cache
@require_POST
def export(request: Request) -> StreamingHttpResponse:
    """By a button, not a link: nothing that fetches pages ahead takes the whole workshop along."""
    name = f"curelog-export-{request.workshop.local(timezone.now()):%Y-%m-%d}.zip"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return StreamingHttpResponse(make(timezone.now()), content_type="application/zip", headers=headers)
