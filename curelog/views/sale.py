"""What a loaf may be sold as: its net weight until a day, and what is in it then. Nothing is kept here."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from curelog import units, wording
from curelog.domain.quantiles import Quantiles
from curelog.domain.soap_standards import Limit, standards
from curelog.forms.sale import NetWeightForm, usual_wish
from curelog.marks import mark
from curelog.models import Check
from curelog.models.outlook import Outlook
from curelog.models.promise import NextCut, Promise, next_cut, promise
from curelog.views.access import Request
from curelog.views.acts import ASKED_OF_RELEASE
from curelog.views.loaf import outlook_of


def net_weight(request: Request, key: UUID) -> HttpResponse:
    seen = outlook_of(request, key)
    form = NetWeightForm(asked(request, seen), seen=seen)
    context: dict[str, Any] = {"form": form, "seen": seen, "loaf": seen.loaf, "mark": mark(seen)}
    if form.is_valid():
        context |= answered(request, form, seen)
    return render(request, "sale/net_weight.html", context, status=200 if form.is_valid() else 422)


def asked(request: Request, seen: Outlook) -> QueryDict:
    """What the address does not say is taken as usual."""
    data = request.GET.copy()
    for name, value in usual_wish(seen).items():
        if name not in data and value is not None:
            data[name] = str(value)
    return data


def answered(request: Request, form: NetWeightForm, seen: Outlook) -> dict[str, Any]:
    wish = form.wish()
    found = promise(seen, wish)
    if not isinstance(found, Promise):
        return {"no_promise": found}
    wanted_g = form.cleaned_data["wanted_g"]
    other_way = next_cut(seen, wish, wanted_g) if wanted_g else None
    return {
        "found": found,
        "rests_on": wording.promise_rests_on(found),
        "release_url": release_url(request, form, found),
        "next_cut": other_way if isinstance(other_way, NextCut) else None,
        "no_next_cut": None if isinstance(other_way, NextCut) else other_way,
        "standard": standards().get(seen.workshop.soap_standard),
        "verdicts": verdicts(seen, found),
        "titrations": [fact for fact in seen.record.standing(Check) if fact.kind == Check.Kind.TITRATION],
    }


def release_url(request: Request, form: NetWeightForm, found: Promise) -> str:
    """The release form, with what was worked out here."""
    query = QueryDict(mutable=True)
    query.update({name: form.data[name] for name in ASKED_OF_RELEASE if form.data.get(name)})
    unit = request.workshop.mass_unit
    # Rounded down: a promise is not to grow by being shown in another unit.
    shown = units.from_grams(found.held.declare_g, unit)
    query["declared_g"] = units.plain(int(shown * 100) / 100, 2)
    return f"{reverse('act', args=[form.seen.loaf.pk, 'release'])}?{query.urlencode()}"


def verdicts(seen: Outlook, found: Promise) -> list[tuple[Limit, str]]:
    """The chosen standard's limits, each with what the last day of sale says of it."""
    standard = standards().get(seen.workshop.soap_standard)
    if standard is None or found.until is None:
        return []
    shares: dict[str, Quantiles] = {
        "fatty_matter": found.until.fatty_matter,
        "moisture": found.until.moisture,
    }
    return [
        (limit, limit.verdict(in_percent(shares[limit.quantity])) if limit.quantity in shares else "")
        for limit in standard.limits
    ]


def in_percent(shares: Quantiles) -> Quantiles:
    return Quantiles(*(100 * value for value in shares.as_dict().values()))
