"""Puts the workshop on the request, and its zone on the clock."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from curelog.models import Workshop


class WorkshopMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.workshop = SimpleLazyObject(Workshop.current)  # type: ignore[attr-defined]
        if request.user.is_authenticated:
            timezone.activate(request.workshop.zone)  # type: ignore[attr-defined]
        try:
            return self.get_response(request)
        finally:
            timezone.deactivate()


def workshop_context(request: HttpRequest) -> dict[str, Any]:
    return {"workshop": getattr(request, "workshop", None), "now": timezone.now()}
