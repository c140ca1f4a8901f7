"""The calendar feed, read by icalendar: a parser of another maker."""

import io
import logging
import time
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import icalendar
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from django.utils.module_loading import import_string
from hypothesis import given
from hypothesis import strategies as st

from curelog.actions import mould
from curelog.actions.cut import CutBars, cut
from curelog.actions.reminding import renew_feed, set_own
from curelog.actions.settings import change_workshop
from curelog.calendar_text import MOST_OCTETS, Entry, calendar, escaped, folded
from curelog.logs import masked
from curelog.models import Batch, FeedAddress, Loaf, Person, Reminder, Workshop
from curelog.reminders.planning import catch_up
from curelog.settings import LOGGING
from tests.factories import START, make_cut_loaf, make_loaf, told

BERLIN = ZoneInfo("Europe/Berlin")
CHANGED = datetime(2026, 1, 1, tzinfo=UTC)


def read(text):
    parsed = icalendar.Calendar.from_ical(text)
    return {str(event["UID"]): event for event in parsed.walk("VEVENT")}


def entry(**changes):
    values = {
        "uid": "a@curelog",
        "begins": CHANGED,
        "ends": None,
        "title": "Cut: 26-014",
        "text": "x",
        "url": "https://soap/",
        "revision": 1,
        "changed_at": CHANGED,
    }
    return Entry(**values | changes)


texts = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cf", "Co", "Cn", "Zl", "Zp"))
    | st.sampled_from('\n;,\\:"äöüß✓')
)


@given(title=texts, text=texts)
def test_any_text_comes_out_of_another_makers_parser_as_it_went_in(title, text):
    # The parser takes blanks off the ends.
    told = f"<{title}>", f"<{text}>"
    event = read(calendar("Würzburger Seifen; Ölmühle, alt", [entry(title=told[0], text=told[1])]))[
        "a@curelog"
    ]
    assert (str(event["SUMMARY"]), str(event["DESCRIPTION"])) == told


@given(text=st.text(max_size=300))
def test_no_line_is_longer_than_the_standard_allows_and_none_is_cut_inside_a_letter(text):
    lines = folded(f"SUMMARY:{escaped(text)}").split("\r\n")
    for line in lines:
        assert len(line.encode()) <= MOST_OCTETS
    assert lines[0] + "".join(line.removeprefix(" ") for line in lines[1:]) == f"SUMMARY:{escaped(text)}"


def test_moments_days_and_lines_are_written_as_the_standard_wants():
    """RFC 5545: 3.1 (line ends), 3.3.4 (a day), 3.3.5 form 2 (a moment in UTC), 3.6.1 (the day after ends an entry)."""
    text = calendar(
        "x", [entry(ends=CHANGED + timedelta(hours=5)), entry(uid="b@curelog", begins=date(2026, 3, 29))]
    )
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert "DTSTART:20260101T000000Z\r\nDTEND:20260101T050000Z\r\n" in text
    assert "DTSTART;VALUE=DATE:20260329\r\nDTEND;VALUE=DATE:20260330\r\n" in text


@pytest.fixture
def seen(client, clock, known_window, db):
    """The feed as a calendar program without any cookie gets it."""
    person = Person.objects.create_user("olga", first_name="Olga")
    feed = FeedAddress.objects.create(person=person)

    def get():
        while catch_up(timezone.now()):
            pass
        response = client.get(f"/calendar/{person.pk}-{feed.secret}.ics")
        assert response.status_code == 200
        assert response.headers["Content-Type"] == "text/calendar; charset=utf-8"
        return read(response.content)

    return get


def test_the_cut_is_one_timed_entry_that_moves_and_goes(seen, clock):
    change_workshop(Workshop.current(), {"time_zone": "Europe/Berlin"})
    loaf = make_loaf()
    uid = f"cut--{loaf.pk}@curelog".replace("--", "-0-")
    before = seen()[uid]
    assert before.decoded("DTSTART") == START + timedelta(hours=11)
    assert before.decoded("DTEND") == START + timedelta(hours=16)
    assert str(before["URL"]) == f"http://testserver/loaves/{loaf.pk}/cut/"
    assert str(before["SUMMARY"]) == "Cut: 26-001"
    assert f"check-0-{loaf.pk}@curelog" in seen()
    assert f"cut_by-0-{loaf.pk}@curelog" not in seen()
    clock.shift(timedelta(hours=5))
    mould.check_firmness(loaf, told(5), "sticky")
    after = seen()[uid]
    assert after.decoded("DTSTART") == START + timedelta(hours=35)
    assert after["SEQUENCE"] == before["SEQUENCE"] + 1
    clock.shift(timedelta(hours=28))
    cut(loaf, told(33), "clean", CutBars(10, 85, 65, 25))
    assert uid not in seen()


def test_days_stay_days_and_moments_stay_moments_over_the_clock_change(seen, clock):
    """Berlin puts its clocks on at 02:00 of 29 March 2026."""
    change_workshop(Workshop.current(), {"time_zone": "Europe/Berlin"})
    loaf = make_cut_loaf(hours=(datetime(2026, 3, 24, 18, tzinfo=UTC) - START).total_seconds() / 3600)
    clock.move_to(datetime(2026, 3, 26, tzinfo=UTC))
    by = Person.objects.get()
    for day in (28, 30):
        set_own(loaf, uuid4(), datetime(2026, 3, day, 9, 0, tzinfo=BERLIN), f"day {day}", by)
    events = seen()
    turned = events[f"turn-7-{loaf.pk}@curelog"]
    assert turned.decoded("DTSTART") == date(2026, 4, 1)
    assert turned.decoded("DTEND") == date(2026, 4, 2)
    own = [event.decoded("DTSTART") for event in events.values() if "day" in str(event["SUMMARY"])]
    assert {moment.astimezone(BERLIN).hour for moment in own} == {9}
    assert {moment.hour for moment in own} == {7, 8}


def test_a_note_with_umlauts_and_a_name_are_in_the_calendar(seen, client):
    loaf = make_cut_loaf()
    note = "Für Jürgen: 3 Stück zurücklegen; bitte, in Ölpapier einschlagen und den Größten dem Café geben ✓"
    set_own(loaf, uuid4(), START + timedelta(days=3), note, Person.objects.get())
    assert f"26-001: {note}" in {str(event["SUMMARY"]) for event in seen().values()}


def test_nothing_but_the_secret_opens_the_feed_and_a_new_one_closes_the_old(client, db, caplog, settings):
    person = Person.objects.create_user("olga")
    old = FeedAddress.objects.create(person=person).secret
    good = f"/calendar/{person.pk}-{old}.ics"
    assert client.get(good).status_code == 200
    assert client.get(good).headers["Cache-Control"] == "private, no-store"
    wrong = (f"{person.pk}-{old[:-1]}", f"{person.pk}-", f"{person.pk + 1}-{old}", old, "x", "²-x", f"-{old}")
    for token in wrong:
        assert client.get(f"/calendar/{token}.ics").status_code == 404
    assert client.post(good).status_code == 405
    renewed = renew_feed(person).secret
    assert renewed != old
    assert client.get(good).status_code == 404
    assert client.get(f"/calendar/{person.pk}-{renewed}.ics").status_code == 200


def test_a_copy_of_the_database_does_not_open_the_feed(db):
    feed = FeedAddress.objects.create(person=Person.objects.create_user("olga"))
    assert feed.secret not in str(FeedAddress.objects.filter(pk=feed.pk).values())


def test_a_removed_person_takes_the_address_along(client, db):
    person = Person.objects.create_user("olga")
    address = f"/calendar/{person.pk}-{FeedAddress.objects.create(person=person).secret}.ics"
    person.delete()
    assert client.get(address).status_code == 404


def test_the_secret_is_in_no_log_line(client, db, settings):
    """What Django logs of a request that fails: made into a line by the formatter that the settings name."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    line = LOGGING["formatters"]["line"]
    handler.setFormatter(import_string(line["class"])(line["format"]))
    logger = logging.getLogger("django.request")
    logger.addHandler(handler)
    level = logger.level
    logger.setLevel("INFO")
    try:
        client.get("/calendar/1-0123456789abcdef0123456789abcdef01234567.ics")
        client.post("/calendar/1-0123456789abcdef0123456789abcdef01234567.ics")
        logger.error("While reading %s", {"path": "/calendar/1-0123456789abcdef.ics?x=1"})
    finally:
        logger.removeHandler(handler)
        logger.setLevel(level)
    assert written.getvalue().count("/calendar/***") == 3
    assert "0123456789abcdef" not in written.getvalue()


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("GET /join/abcdefgh?x=1 404", "GET /join/***?x=1 404"),
        ("Error: /new-password/12/d2x4-0a1b2c/", "Error: /new-password/12/***/"),
        (
            "to https://push.example.net/wpush/v2/gAAAAABlongsecretpart failed",
            "to https://push.example.net/*** failed",
        ),
        ("GET /loaves/ 200, https://example.org/short", "GET /loaves/ 200, https://example.org/short"),
    ],
)
def test_what_is_masked_and_what_is_not(line, kept):
    assert masked(line) == kept


def test_a_thousand_loaves_are_served_within_a_second(seen, client):
    """Five entries each. In time of our own: what else this machine does meanwhile is not counted."""
    make_many(1000)
    began = time.process_time()
    events = seen_text(client)
    took_s = time.process_time() - began
    print(f"feed of 1000 loaves, 5000 entries: {took_s:.2f} s")
    assert len(read(events)) == 5000
    assert took_s < 1


def make_many(count):
    Batch.objects.bulk_create(
        Batch(number=f"25-{n:04d}", name="Kernseife", poured_at=START, superfat=0.05, water_g=300)
        for n in range(count)
    )
    Loaf.objects.bulk_create(Loaf(batch=batch, poured_g=1000) for batch in Batch.objects.all())
    Reminder.objects.bulk_create(
        Reminder(
            loaf=loaf,
            kind="turn",
            series=str(n),
            begins_at=START + timedelta(days=n),
            until=START + timedelta(days=400),
            is_all_day=True,
            words=f"{loaf.batch.number}: Stücke wenden",
            why="From the cut, 7 days before",
        )
        for loaf in Loaf.objects.select_related("batch")
        for n in range(5)
    )


def seen_text(client):
    feed = FeedAddress.objects.get()
    return client.get(f"/calendar/{feed.person_id}-{feed.secret}.ics").content


def test_the_number_of_queries_does_not_grow_with_the_loaves(seen, client):
    counts = []
    for count in (2, 20):
        Batch.objects.all().delete()
        make_many(count)
        with CaptureQueriesContext(connection) as queries:
            seen_text(client)
        counts.append(len(queries))
    assert counts[0] >= counts[1]
