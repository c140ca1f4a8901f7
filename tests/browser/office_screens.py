"""The screens of the room, of what comes in and goes out, of people and reminders, over something to show."""

from datetime import timedelta
from uuid import uuid4

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from curelog.actions.place import add_place, move
from curelog.actions.room import add_sensor
from curelog.imports import uploads
from curelog.imports.wanted import SHEET_KINDS
from curelog.models import Loaf, Person, Photo, RoomReading
from tests import factories

LISTS = ("room", "sensors", "imports", "exports", "backups", "rebatch", "own_fat_new")
LISTS += ("reminders", "reminder_rules", "receivers", "outbox", "offline")
SHEET = "Loaf;Bar;Date;Weight in g\n26-003;2;03.02.2026;131,5\n26-099;2;13.02.2026;half\n"
# What is shown only in answer to a button: screen, fields to fill, and what is pressed.
ANSWERS = {
    "sensor_token": ("sensors", {"name": "By the door"}, "button.first"),
    "invited": ("people", {}, "button.first"),
    "password_link": ("person", {}, "form[action$='/password/'] button"),
    "import_plan": ("import_match", {}, "button.first"),
    "bad_rebatch": ("rebatch", {"part_1": "no such lot", "taken_1": "12"}, "button.first"),
    "bad_lot": ("lot_new", {"received_g": "much"}, "button.first"),
}


def office_screens(sold: Loaf, owner: Person) -> dict[str, str]:
    helper = Person.objects.create_user("a_helper_with_a_long_name_to_sign_in_with", role="helper")
    shelf = add_place("A shelf whose name takes more than one line on a telephone")
    move(sold, factories.told(24 * 43), shelf)
    add_sensor("Rack sensor", "Long rack, top", owner)[0].save()
    for day in range(40):
        at = timezone.now() - timedelta(days=day)
        RoomReading.objects.create(
            id=uuid4(), at=at, day=at.date(), rh=50 + day % 17, temp_c=18.5, source="hand", changed_at=at
        )
    settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
    sheet = uploads.keep(SHEET.encode("utf-8-sig"), SHEET_KINDS["weights"])
    photo = Photo.objects.first()
    assert photo
    return {name: reverse(name) for name in LISTS} | {
        "place": reverse("place", args=[shelf.pk]),
        "person": reverse("person", args=[helper.pk]),
        "person_remove": reverse("person_remove", args=[helper.pk]),
        "move_sample": f"{reverse('act', args=[sold.pk, 'move'])}?part=sample",
        "own_reminder": reverse("own_reminder", args=[sold.pk]),
        "reminder_rule": reverse("reminder_rule", args=["ready"]),
        "photo_erase": reverse("photo_erase", args=[photo.pk]),
        "import_match": reverse("import_match", args=["weights", sheet.digest]),
        "label_letter": f"{reverse('label', args=[sold.pk])}?paper=letter&grid=3x5&names=finished",
        "trace_nothing": f"{reverse('tracing')}?q=xyzzy",
    }
