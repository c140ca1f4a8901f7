"""What makes the pages an app on the phone: manifest, service worker, and the pages to be kept for the curing room."""

import json
from datetime import datetime

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import cache_control

from curelog import release
from curelog.models import Photo, Recipe
from curelog.models.outlook import Outlook, active, outlooks
from curelog.views.access import Request

# Pages to keep on a phone: a workshop with more than this has them only after opening them.
MOST_PAGES = 500
ICONS = ((192, "any"), (512, "any"), (192, "maskable"), (512, "maskable"))


@login_not_required
@cache_control(max_age=3600)
def manifest(request: HttpRequest) -> JsonResponse:
    today, weigh_round, loaves = reverse("today"), reverse("weigh_round"), reverse("loaves")
    told = {
        "id": today,
        "name": "curelog",
        "short_name": "curelog",
        "description": "Cold-process soap from pour to cure.",
        "lang": "en",
        "start_url": today,
        "scope": today,
        "display": "standalone",
        "theme_color": "#1d5a54",
        "background_color": "#f4f0e6",
        "icons": [icon(size_px, purpose) for size_px, purpose in ICONS],
        "shortcuts": [
            {"name": "Weigh round", "url": weigh_round},
            {"name": "Today", "url": today},
            {"name": "Loaves", "url": loaves},
        ],
    }
    return JsonResponse(told, content_type="application/manifest+json")


def icon(size_px: int, purpose: str) -> dict[str, str]:
    part = "maskable-" if purpose == "maskable" else ""
    source = static(f"icons/{part}{size_px}.png")
    return {"src": source, "sizes": f"{size_px}x{size_px}", "type": "image/png", "purpose": purpose}


@login_not_required
@cache_control(no_cache=True)
def service_worker(request: HttpRequest) -> HttpResponse:
    """One script: what it serves and what it is change together."""
    if not release.is_hashed():
        raise Http404
    told = {
        "name": release.name(),
        "files": release.static_urls(),
        "offline": reverse("offline"),
        "absent": static("icons/absent.svg"),
        "static": settings.STATIC_URL,
        "most_pages": MOST_PAGES,
    }
    context = {"release": json.dumps(told)}
    script = render(request, "pwa/service-worker.js", context, content_type="text/javascript")
    script.headers["Service-Worker-Allowed"] = "/"
    return script


@login_not_required
def offline(request: HttpRequest) -> HttpResponse:
    """Shown for a page that the phone does not have. It knows nobody, so it may be kept for everybody."""
    return render(request, "pwa/offline.html")


def outbox(request: Request) -> HttpResponse:
    return render(request, "pwa/outbox.html")


def pages(request: Request) -> JsonResponse:
    """The pages of the curing room, most urgent loaf first, each with a stamp that changes when it has changed."""
    now = timezone.now()
    seen = sorted(
        outlooks(active(), request.workshop, now), key=lambda one: min(one.standing.needs, default=99)
    )
    general = [reverse(name) for name in ("today", "weigh_round", "racks", "loaves", "outbox", "pour")]
    recipes = Recipe.objects.filter(is_current=True).values_list("pk", flat=True)
    general += [reverse("recipe_pour", args=[pk]) for pk in recipes]
    listed = [{"url": url, "stamp": ""} for url in general]
    # In a large workshop rather every loaf without some of its forms than some loaves not at all.
    listed += [{"url": reverse("loaf", args=[one.loaf.pk]), "stamp": stamp(one)} for one in seen]
    listed += [{"url": url, "stamp": stamp(one)} for one in seen for url in urls_of(one)]
    return JsonResponse({"pages": listed[:MOST_PAGES]})


def urls_of(seen: Outlook) -> list[str]:
    """The forms of a loaf, the answers to its failed checks, and its pictures."""
    key, record = seen.loaf.pk, seen.record
    acts = [reverse("act", args=[key, act]) for act in seen.standing.acts]
    answers = [reverse("answer", args=[check.pk]) for check in record.open_fails]
    return acts + answers + ([reverse("faces", args=[key])] if record.standing(Photo) else [])


def stamp(seen: Outlook) -> str:
    """Facts are only ever added, or erased: their number and the last arrival tell of any change."""
    arrivals: list[datetime] = [fact.received_at for fact in seen.record.history]
    latest = max(arrivals).isoformat() if arrivals else ""
    return f"{len(arrivals)} {latest}"
