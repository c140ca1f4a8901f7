"""Puts the workshop on the request and its zone on the clock, asks to sign in, adds the pages' headers."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth import middleware as auth
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.functional import SimpleLazyObject
from django_htmx.http import HttpResponseClientRedirect

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


# A form with a password, what a sensor reads or a notification answers is shorter.
STRANGERS_MOST_BYTES = 64 * 1024


class LongBodyMiddleware:
    """The token of a form is looked for in all that is sent along, whoever sends it: a stranger could fill the disk."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        told = request.META.get("CONTENT_LENGTH") or "0"
        is_long = not told.isdecimal() or int(told) > STRANGERS_MOST_BYTES
        if is_long and not request.user.is_authenticated:
            # To an outbox its number says: keep it, and ask to sign in.
            return HttpResponse(render_to_string("errors/signed_out.html"), status=401)
        return self.get_response(request)


class SignInMiddleware(auth.LoginRequiredMiddleware):
    """A part of a page is not answered with a sign-in form in its place: the whole page goes to sign in."""

    def handle_no_permission(self, request: HttpRequest, view_func: Any) -> HttpResponse:  # type: ignore[override]
        if not request.htmx:  # type: ignore[attr-defined]
            return super().handle_no_permission(request, view_func)
        page = request.htmx.current_url_abs_path or "/"  # type: ignore[attr-defined]
        return HttpResponseClientRedirect(redirect_to_login(page).url)


class SmallPagesMiddleware(GZipMiddleware):
    """Pages and lists a quarter as large over a weak wifi. Pictures and whole copies are packed already."""

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        is_text = response.get("Content-Type", "").startswith(("text/", "application/json"))
        return super().process_response(request, response) if is_text and not response.streaming else response


# The camera is for cut faces; nothing here asks for the others.
PERMISSIONS_POLICY = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()"


class PageHeadersMiddleware:
    """Pages may be kept by the person's own browser, but are asked for again each time."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-cache")
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response


def workshop_context(request: HttpRequest) -> dict[str, Any]:
    return {"workshop": getattr(request, "workshop", None), "now": timezone.now()}
