"""A link that one person makes and another opens: as an address, and as a code for the other's phone."""

import segno
from django.utils.safestring import mark_safe

from curelog.hosts import is_here_only
from curelog.views.access import Request


def shown_once(request: Request, path: str) -> dict[str, object]:
    """For templates/settings/_link.html."""
    address = request.build_absolute_uri(path)
    code = segno.make(address, error="m").svg_inline(scale=5, border=3, light="#fff", omitsize=True)
    return {
        "address": address,
        "code": mark_safe(code),  # drawn by segno from our own address
        "is_here_only": is_here_only(request.get_host()),
    }
