"""Hostile uploads through the photo form: a clear message or a clean picture, never a 500, never stored as sent."""

import io
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from curelog import photos
from curelog.models import Photo
from tests.factories import make_cut_loaf
from tests.test_photos import encoded, exif, png_header, quartered
from tests.views.test_acts import post, url

pytestmark = pytest.mark.django_db

SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"flour, water, eggs", "notes.jpg"),
        (encoded(quartered())[:900], "notes.jpg"),
        (png_header(20_000, 20_000), "notes.jpg"),
        (SVG, "notes.jpg"),
        (b"\xff\xd8" + bytes(60_000_000), "notes.jpg"),
        (b"", "empty"),
    ],
    ids=["text", "truncated", "20000 x 20000", "svg", "60 MB", "empty"],
)
def test_what_cannot_be_kept_is_told_and_nothing_is_stored(
    owner_client: Client, content: bytes, words: str
) -> None:
    loaf = make_cut_loaf()
    before = set(Path(settings.PHOTO_DIR).rglob("*"))
    response = post(
        owner_client, url(loaf, "photo"), photos=[SimpleUploadedFile("notes.jpg", content)], subject="face"
    )
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not Photo.objects.exists()
    assert set(Path(settings.PHOTO_DIR).rglob("*")) == before


def test_a_picture_with_its_place_is_kept_without_it(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    place = exif()
    place[0x8825] = {1: "N", 2: (51.0, 2.0, 3.0), 3: "E", 4: (3.0, 43.0, 0.0)}
    sent = encoded(quartered(), exif=place)
    post(owner_client, url(loaf, "photo"), photos=[SimpleUploadedFile("a.jpg", sent)], subject="face")
    photo = Photo.objects.get()
    for rendition in photos.LONG_SIDE_PX:
        stored = photos.path(settings.PHOTO_DIR, photo.pk, rendition).read_bytes()
        assert stored != sent
        assert not Image.open(io.BytesIO(stored)).getexif()
