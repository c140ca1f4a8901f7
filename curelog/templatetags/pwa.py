"""Whether pages may register a service worker."""

from django import template
from django.conf import settings
from django.template import Context
from django.templatetags.static import static
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from curelog import release
from curelog.hosts import is_here_only

register = template.Library()


@register.simple_tag
def worker_url() -> str:
    """Empty while developing: unhashed files must not be kept by a worker."""
    return reverse("service_worker") if release.is_hashed() else ""


@register.simple_tag(takes_context=True)
def is_plain_door(context: Context) -> bool:
    """Whether this page came in the clear to another machine although there is an HTTPS door."""
    request = context["request"]
    return bool(settings.LAN_PORT) and not request.is_secure() and not is_here_only(request.get_host())


@register.simple_tag
def csrf_cookie() -> str:
    """Its name, for scripts: the token is read when something is sent, never kept."""
    return settings.CSRF_COOKIE_NAME


@register.simple_tag
def module_script(entry: str) -> SafeString:
    """`{% module_script 'js/app.js' %}`: the module, and all that it imports fetched beside it."""
    links = format_html_join(
        "\n",
        '<link rel="modulepreload" href="{}">',
        ((static(name),) for name in release.modules_of(entry)),
    )
    return format_html('{}\n<script type="module" src="{}"></script>', links, static(entry))
