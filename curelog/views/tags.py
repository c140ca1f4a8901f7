"""Tags with a QR code: printed on label sheets, and what opens when a phone's camera reads one."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from curelog.forms.tags import SheetForm
from curelog.hosts import is_here_only
from curelog.label_sheets import Tag
from curelog.models import Loaf, Place
from curelog.models.facts import Finish
from curelog.models.record import standing
from curelog.models.tags import code_of, tagged
from curelog.views.access import Request


def tag(request: Request, code: str) -> HttpResponse:
    """Ready to weigh: the round over what carries the code."""
    loaves, places = tagged(code)
    found = [(f"{loaf} {loaf.batch.name}", way_to(loaf)) for loaf in loaves.select_related("batch")]
    found += [(str(place), f"{reverse('weigh_round')}?place={place.pk}") for place in places]
    if not found:
        raise Http404
    if len(found) == 1:
        return redirect(found[0][1])
    return render(request, "tags/choose.html", {"found": found})


def way_to(loaf: Loaf) -> str:
    """A loaf without a bar to weigh shows its page."""
    has_bars = loaf.bars.exists() and not standing(Finish).filter(loaf=loaf).exists()
    return f"{reverse('weigh_round')}?loaf={loaf.pk}" if has_bars else reverse("loaf", args=[loaf.pk])


def tags(request: Request) -> HttpResponse:
    form = SheetForm(request.GET or None, workshop=request.workshop)
    sheet = form.sheet
    told = [tag_of(request, one) for one in form.tagged()]
    context = {
        "form": form,
        "sheet": sheet,
        "pages": sheet.pages(told, form.asked["used"]),
        "tags": told,
        "is_here_only": is_here_only(request.get_host()),
    }
    return render(request, "tags/index.html", context)


def tag_of(request: Request, one: Loaf | Place) -> Tag:
    address = request.build_absolute_uri(reverse("tag", args=[code_of(one.pk)]))
    if isinstance(one, Place):
        return Tag(address, one.name, "")
    return Tag(address, one.number, one.batch.name)
