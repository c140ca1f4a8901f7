"""A small workshop with photos in a folder of its own, and its backup."""

from io import BytesIO
from pathlib import Path

import pytest
from django.utils import timezone
from PIL import Image

from curelog.actions.people import invite
from curelog.actions.photo import photograph, take_in
from curelog.backup.make import back_up
from curelog.models import Person
from tests.factories import make_cut_loaf, told, weigh_course


def silent(words: str) -> None:
    pass


def picture(colour: str) -> BytesIO:
    out = BytesIO()
    Image.effect_noise((300, 200), 90).convert("RGB").save(out, "JPEG")
    out.seek(0)
    return out


@pytest.fixture
def folder(tmp_path: Path, settings, transactional_db) -> Path:
    settings.DATA_DIR = tmp_path / "workshop"
    settings.PHOTO_DIR = settings.DATA_DIR / "photos"
    settings.DATA_DIR.mkdir()
    (settings.DATA_DIR / "secret.key").write_text("a key for tests only")
    owner = Person.objects.create_user("olga", password="four words in a row", role=Person.Role.OWNER)
    invite("helper", owner)
    loaf = make_cut_loaf()
    weigh_course(loaf, {3: 134.0, 7: 130.123456789, 14: 126.0})
    for colour in ("beige", "olive"):
        photograph(loaf, told(25, by=owner), take_in(picture(colour)), "face", loaf.bars.first())
    return settings.DATA_DIR


@pytest.fixture
def backup(folder: Path, tmp_path: Path) -> Path:
    return back_up(tmp_path / "backup.zip", timezone.now(), silent)
