"""What happens to every request on its way in, and to every answer on its way out."""

import gzip
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from curelog.actions.photo import photograph, take_in
from curelog.middleware import STRANGERS_MOST_BYTES
from tests import factories

ZIPPED = {"Accept-Encoding": "gzip"}


def test_pages_and_lists_travel_small_and_unchanged(owner_client):
    factories.make_cut_loaf()
    for path in ("/", "/offline/pages.json"):
        plain, small = owner_client.get(path), owner_client.get(path, headers=ZIPPED)
        assert "Content-Encoding" not in plain
        assert small["Content-Encoding"] == "gzip"
        assert "Accept-Encoding" in small["Vary"]
        assert len(gzip.decompress(small.content)) == len(plain.content)
        assert len(small.content) < 0.6 * len(plain.content)


def test_pictures_travel_as_they_are(owner_client, workshop, settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    picture = io.BytesIO()
    Image.effect_noise((300, 200), 90).save(picture, "JPEG")
    photo = photograph(factories.make_cut_loaf(), factories.told(40), take_in(picture), "face")
    answer = owner_client.get(f"/photos/{photo.pk}/full/", headers=ZIPPED)
    assert answer["Content-Type"] == "image/jpeg"
    assert "Content-Encoding" not in answer
    answer.close()


def long_form():
    return {"file": SimpleUploadedFile("long.bin", bytes(STRANGERS_MOST_BYTES))}


@pytest.mark.parametrize("path", ["/sign-in/", "/join/x/", "/sync/", "/sensors/readings/", "/nowhere/"])
def test_what_is_long_is_not_even_read_of_a_stranger(stranger, path, monkeypatch):
    monkeypatch.setattr("django.core.handlers.wsgi.WSGIRequest._load_post_and_files", lambda *_: 1 / 0)
    answer = stranger.post(path, long_form())
    assert answer.status_code == 401
    assert "Sign in first" in answer.content.decode()


def test_who_is_signed_in_may_send_more(owner_client):
    assert owner_client.post("/sync/", long_form()).status_code == 400
    assert owner_client.post("/workshop/import/", long_form() | {"kind": "weights"}).status_code == 422
