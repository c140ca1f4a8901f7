"""Erasing for good, by an owner, after a question."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from curelog.actions.erase import erase_photo
from curelog.models import Photo
from curelog.views.access import Request, owner_only


@owner_only
def photo(request: Request, key: UUID) -> HttpResponse:
    known = get_object_or_404(Photo, pk=key)
    if request.method != "POST":
        return render(request, "settings/erase_photo.html", {"photo": known, "loaf": known.loaf})
    erase_photo(known)
    messages.success(request, "The photo is erased.", extra_tags="good")
    return redirect("loaf", known.loaf.pk)
