"""The five places of the main navigation."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

PLACES = (
    ("today", "Today", "today"),
    ("loaves", "Loaves", "loaves"),
    ("pour", "Pour", "pour"),
    ("recipes", "Recipes", "recipes"),
    ("settings", "Workshop", "workshop"),
)


@dataclass(frozen=True)
class Place:
    url: str
    name: str
    icon: str
    is_here: bool


def places(request: HttpRequest) -> dict[str, Any]:
    """Context processor. A page counts to the place whose address its own begins with."""
    shown = [(reverse(url_name), name, icon) for url_name, name, icon in PLACES]
    here = next((url for url, _, _ in shown if request.path.startswith(url) and url != "/"), request.path)
    return {"places": [Place(url, name, icon, url == here) for url, name, icon in shown]}
