"""Photos, for signed-in people only, kept by their browser for long: a photo's bytes never change."""

from uuid import UUID

from django.conf import settings
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import cache_control

from curelog import photos
from curelog.models import Photo
from curelog.views.access import Request


@cache_control(private=True, max_age=365 * 24 * 3600, immutable=True)
def picture(request: Request, key: UUID, rendition: str) -> HttpResponse | FileResponse:
    if rendition not in photos.LONG_SIDE_PX:
        raise Http404
    get_object_or_404(Photo, pk=key)
    file = photos.path(settings.PHOTO_DIR, key, rendition)
    if not file.is_file():
        raise Http404
    return FileResponse(file.open("rb"), content_type="image/jpeg")
