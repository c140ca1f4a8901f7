"""Whether pages may register a service worker."""

from django import template
from django.urls import reverse

from curelog import release

register = template.Library()


@register.simple_tag
def worker_url() -> str:
    """Empty while developing: unhashed files must not be kept by a worker."""
    return reverse("service_worker") if release.is_hashed() else ""
