"""Error pages that say what to do next."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "errors/csrf.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/not_found.html", status=404)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/forbidden.html", {"words": str(exception)}, status=403)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Without the request: what came was not fit to be read."""
    return HttpResponse(render_to_string("errors/bad_request.html"), status=400)


def failed(request: HttpRequest) -> HttpResponse:
    """Without the request, so without database and person: whatever broke may break them too."""
    return HttpResponse(render_to_string("errors/failed.html"), status=500)
