"""A workshop with one of nearly everything."""

from datetime import timedelta
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pytest
from PIL import Image

from curelog.actions import cure, mould
from curelog.actions.lots import PartTaken, count_stock
from curelog.actions.photo import photograph, take_in
from curelog.actions.place import add_place, move
from curelog.actions.pour import Filling
from curelog.actions.rebatch import Melted, rebatch
from curelog.actions.release import Counts, Promise, leave, release
from curelog.actions.room import Air, add_sensor, note_reading
from curelog.actions.withdraw import withdraw
from curelog.models import (
    Complaint,
    Loaf,
    LogEntry,
    OwnFat,
    Person,
    RecipeAdditive,
    RecipeFat,
    Scale,
    Workshop,
)
from tests.factories import START, make_cut_loaf, make_loaf, make_lot, make_recipe, told, weigh_course


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
    sell(loaf, owner, workshop)
    return workshop


def sell(loaf: Loaf, owner: Person, workshop: Workshop) -> None:
    """Lots, a promise, a sample moved, bars gone, soap melted again, and the books."""
    tin = add_place("Tin, the =red one")
    lot = make_lot("L-1", price=31.5, saponification_value=194.3)
    count_stock(lot, uuid4(), START, owner, 4100.25, "with the jar, 2")
    loaf.batch.fats.filter(facts__key="lard").update(from_lot=lot, lot="L-1")
    promise = Promise(104.0, "average_eu", START.date() + timedelta(days=200), "Two bars.")
    release(loaf, told(24 * 40, by=owner), Counts(9, 1, tin), promise, "Ordered")
    leave(loaf, told(24 * 41), "sold", 3, "Fair, the first")
    move(loaf, told(24 * 42), add_place("Attic"), "sample")
    melted = Melted("Ends", [PartTaken(loaf.batch, 250.0)], 20.0)
    rebatch(told(24 * 43, by=owner), "26-010", melted, Filling(None), workshop)
    complaint = Complaint.objects.create(
        at=START, batch=loaf.batch, what="Itches", who="Ann", is_adverse=True
    )
    complaint.steps.create(at=START, done="Asked for the bar", closes=True, by=owner)
    LogEntry.objects.create(
        kind="scale", at=START, what="Fine", reference_g=200, shown_g=200.1, tolerance_g=0.2
    )
