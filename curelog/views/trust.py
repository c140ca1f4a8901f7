"""How a phone is made to trust the workshop's own certificate authority. Public: it holds nothing secret."""

from urllib.parse import urlsplit

from cryptography.hazmat.primitives.serialization import Encoding
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from curelog.serving.authority import Authority, read_authority
from curelog.serving.failure import CannotStart

# Taken by Android and by Safari on an iPhone alike, which offers it as a profile (both from memory).
CERTIFICATE_TYPE = "application/x-x509-ca-cert"


@login_not_required
@require_safe
def trust(request: HttpRequest) -> HttpResponse:
    context = {
        "authority": authority(),
        "secure_address": secure_address(request),
        "platform": platform(request.headers.get("User-Agent", "")),
    }
    return render(request, "trust/index.html", context)


@login_not_required
@require_safe
def certificate(request: HttpRequest) -> HttpResponse:
    known = authority()
    if known is None:
        raise Http404
    return HttpResponse(known.certificate.public_bytes(Encoding.DER), content_type=CERTIFICATE_TYPE)


def authority() -> Authority | None:
    if not settings.LAN_PORT:
        return None
    try:
        return read_authority(settings.DATA_DIR)
    except CannotStart:  # deleted while it runs: the next start makes another one
        return None


def secure_address(request: HttpRequest) -> str:
    host = urlsplit(f"//{request.get_host()}").hostname or ""
    return f"https://{f'[{host}]' if ':' in host else host}:{settings.LAN_PORT}/"


def platform(agent: str) -> str:
    """Which section is open at first; all are there. An iPad may call itself a Mac."""
    if "Android" in agent:
        return "android"
    return "iphone" if "iPhone" in agent or "iPad" in agent else "computer"
