import io

import pytest
from django.conf import settings

from curelog import photos
from curelog.actions.keeping import OtherBody
from curelog.actions.photo import photograph, take_in
from tests.factories import make_cut_loaf, told
from tests.test_photos import encoded, quartered

pytestmark = pytest.mark.django_db


def test_another_picture_under_a_known_key_changes_nothing_on_the_disk() -> None:
    loaf, telling = make_cut_loaf(), told(30)
    photograph(loaf, telling, take_in(io.BytesIO(encoded(quartered()))), "face")
    kept = photos.path(settings.PHOTO_DIR, telling.key, "full").read_bytes()
    with pytest.raises(OtherBody):
        photograph(loaf, telling, take_in(io.BytesIO(encoded(quartered(400, 300)))), "face")
    assert photos.path(settings.PHOTO_DIR, telling.key, "full").read_bytes() == kept
