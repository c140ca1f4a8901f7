"""Who may see what. Signing in is asked for by the middleware, for every view not marked public."""

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from curelog.models import Person, Workshop

if TYPE_CHECKING:
    from django_htmx.middleware import HtmxDetails


class Request(HttpRequest):
    """What a view behind the middleware is given."""

    user: Person
    workshop: Workshop
    htmx: "HtmxDetails"


def owner_only(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A helper is told calmly that this is the owner's. The mark on the view is what the tests walk by."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not getattr(request.user, "is_owner", False):
            raise PermissionDenied("Only an owner of the workshop can do this.")
        return view(request, *args, **kwargs)

    guarded.owner_only = True  # type: ignore[attr-defined]
    return guarded
