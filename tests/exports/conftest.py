"""A workshop with one of nearly everything."""

from datetime import timedelta
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pytest
from PIL import Image

from curelog.actions import cure, mould
from curelog.actions.photo import photograph, take_in
from curelog.actions.room import Air, add_sensor, note_reading
from curelog.actions.withdraw import withdraw
from curelog.models import OwnFat, Person, RecipeAdditive, RecipeFat, Scale, Workshop
from tests.factories import START, make_cut_loaf, make_loaf, make_recipe, told, weigh_course


@pytest.fixture
def full_workshop(tmp_path: Path, settings, db) -> Workshop:
    settings.PHOTO_DIR = tmp_path / "photos"
    workshop = Workshop.current()
    owner = Person.objects.create_user("otto", password="four words in a row", role=Person.Role.OWNER)
    scale = Scale.objects.create(name="Letter scale", step_g=0.1)
    own = OwnFat.objects.create(
        name="Beef from next door", saponification_value=197.123456789, iodine_value=45
    )
    recipe = make_recipe("=SUM(A1) soap", note='"quoted", with a comma\nand a second line')
    RecipeFat.objects.create(recipe=recipe, own=own, mass_g=100)
    RecipeAdditive.objects.create(recipe=recipe, name="Salt", role="salt", share_of_fats=1 / 3)
    make_loaf(make_recipe("Olive"), number="26-009")
    loaf = make_cut_loaf()
    mould.see_gel(loaf, told(20, by=owner), "partial")
    wrong = mould.check_firmness(loaf, told(12, by=owner, note="@home, felt by Ö"), "dents")
    withdraw(wrong, told(13, by=owner), "the other loaf")
    weigh_course(loaf, {3: 134.0, 7: 130.123456789012})
    cure.weigh(loaf, told(24 * 15, by=owner), list(loaf.bars.all()), 0.1 + 0.2, scale)
    cure.handle(loaf, told(24 * 16), "planed", list(loaf.bars.all()), 1.5)
    failed = cure.check(loaf, told(24 * 20), "titration", "fail", "+0.2 %")
    cure.answer(failed, told(24 * 21, note="again: 0.02 %"), lets_go=True)
    cure.note(loaf, told(24 * 22, note="-1+1"))
    jpeg = BytesIO()
    Image.effect_noise((300, 200), 90).convert("RGB").save(jpeg, "JPEG")
    photograph(loaf, told(25, by=owner), take_in(jpeg), "face", loaf.bars.first())
    sensor, _ = add_sensor("Cellar", "rack", owner)
    note_reading(
        uuid4(), START + timedelta(microseconds=1), Air(55.5, None), workshop, sensor=sensor, source="sensor"
    )
    return workshop
