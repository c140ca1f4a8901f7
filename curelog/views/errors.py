"""Error pages that say what to do next."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "errors/csrf.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/not_found.html", status=404)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/forbidden.html", status=403)


def failed(request: HttpRequest) -> HttpResponse:
    """Plain: whatever broke may break a rich page too."""
    return render(request, "errors/failed.html", status=500)
