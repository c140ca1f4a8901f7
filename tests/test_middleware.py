"""What happens to every answer on its way out."""

import gzip
import io

from PIL import Image

from curelog.actions.photo import photograph, take_in
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
