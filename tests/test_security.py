"""What holds for every address of the project, found by walking the URL table and the templates."""

import os
import re
import subprocess
import sys
import uuid
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from django.conf import settings
from django.test import Client
from django.urls import URLPattern, get_resolver, resolve, reverse
from django.utils import timezone
from PIL import Image

from curelog.actions import people
from curelog.actions.cure import check
from curelog.actions.lots import PartTaken, keep_lot
from curelog.actions.photo import photograph, take_in
from curelog.models import Complaint, Invitation, Lot, Person, Photo, Scale
from curelog.settings import BASE_DIR
from curelog.views.errors import failed
from tests.conftest import PASSWORD
from tests.factories import make_cut_loaf, told

# What a stranger may open. Everything else asks to sign in.
PUBLIC = {
    "sign_in",
    "sign_out",
    "join",
    "new_password",
    "offline",
    "manifest",
    "service_worker",
    "trust",
    "trust_certificate",
}
# What scripts talk to: told in JSON that they are not known, since a sign-in page would mean nothing to them.
FOR_SCRIPTS = {"sync", "sensor_reading", "reminder_answer"}
# Known by a token in what they send and never by a session, so no other site can borrow one.
BY_TOKEN = {"sensor_reading", "reminder_answer"}
# Known by an address that nobody can guess.
BY_ADDRESS = {"feed"}
# Only an owner may: settings, people, deletion.
OWNERS = {
    "settings_workshop",
    "settings_label",
    "scales",
    "scale",
    "scale_retire",
    "people",
    "person",
    "person_role",
    "person_password",
    "person_remove",
    "invitation_withdraw",
    "photo_erase",
    "complaint_erase",
    "sensors",
    "sensor_renew",
    "sensor_retire",
    "imports",
    "import_match",
    "exports",
    "export",
    "backups",
    "reminder_rules",
    "reminder_rule",
    "reminder_rule_drop",
}
SAMPLES = {"uuid": uuid.UUID(int=1), "int": 1, "string": "x", "slug": "x", "path": "x"}
METHODS = ("get", "post", "put", "patch", "delete", "head", "options")


def walk(patterns):
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            yield pattern
        else:
            yield from walk(pattern.url_patterns)


def sample_address(pattern):
    converters = {
        name: type(c).__name__.removesuffix("Converter").lower()
        for name, c in pattern.pattern.converters.items()
    }
    return reverse(pattern.name, kwargs={name: SAMPLES[kind] for name, kind in converters.items()})


ALL = list(walk(get_resolver().url_patterns))
GUARDED = [pattern for pattern in ALL if pattern.name not in PUBLIC]
OWNER_ONLY = [pattern for pattern in ALL if getattr(pattern.callback, "owner_only", False)]


def named(patterns):
    return pytest.mark.parametrize("pattern", [pytest.param(p, id=p.name) for p in patterns])


def test_the_walk_finds_the_whole_table():
    names = [pattern.name for pattern in ALL]
    assert all(names)
    assert len(names) == len(set(names))
    assert PUBLIC | OWNERS | {"today", "loaf", "act", "settings"} <= set(names)


def test_the_owners_parts_are_marked_and_no_others():
    assert {pattern.name for pattern in OWNER_ONLY} == OWNERS


@named(GUARDED)
@pytest.mark.parametrize("method", METHODS)
def test_a_stranger_is_asked_to_sign_in(stranger, pattern, method):
    response = getattr(stranger, method)(sample_address(pattern))
    if pattern.name in FOR_SCRIPTS:
        assert response.status_code in (401, 405, 422)
        assert not response.content or list(response.json()) == ["error"]
    elif pattern.name in BY_ADDRESS:
        assert response.status_code in (404, 405)
    else:
        assert response.url.startswith("/sign-in/?next=/")
        assert not response.content


@named([pattern for pattern in ALL if pattern.name in BY_TOKEN])
def test_a_session_is_no_token(owner_client, pattern):
    assert owner_client.post(sample_address(pattern)).status_code in (401, 422)


@pytest.mark.parametrize("name", ["sync", "push_subscribe", "reminder_answer", "sensor_reading"])
def test_json_nested_beyond_measure_breaks_nothing(owner_client, name):
    deep = "[" * 3000
    told = {"entry": deep} if name == "sync" else deep
    kind = {} if name == "sync" else {"content_type": "application/json"}
    assert owner_client.post(reverse(name), told, **kind).status_code in (400, 422)


def test_a_stranger_learns_nothing_from_a_guessed_link(stranger, workshop):
    workshop.name = "Lower Mill"
    workshop.save()
    page = stranger.get(reverse("join", args=["guess"]))
    assert page.status_code == 404
    assert "Lower Mill" not in page.content.decode()
    assert "Lower Mill" not in stranger.get("/sign-in/").content.decode()


@named(OWNER_ONLY)
@pytest.mark.parametrize("method", METHODS)
def test_a_helper_cannot_reach_an_owners_part(helper_client, pattern, method):
    response = getattr(helper_client, method)(sample_address(pattern))
    assert response.status_code == 403
    if method == "get":
        assert "Only an owner" in response.content.decode()


def test_a_helper_changes_nothing_there(helper_client, helper_person, owner, workshop):
    helper_client.post(reverse("person_remove", args=[owner.pk]))
    helper_client.post(reverse("scales"), {"name": "Mine", "step_g": "1"})
    helper_client.post(reverse("people"), {"role": "owner"})
    owner.refresh_from_db()
    assert not Scale.objects.exists()
    assert not Invitation.objects.exists()


@named(OWNER_ONLY)
def test_an_owner_reaches_it(owner_client, pattern):
    assert owner_client.get(sample_address(pattern)).status_code in (200, 404, 405)


def test_a_form_from_elsewhere_is_refused(owner):
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    for pattern in [pattern for pattern in ALL if pattern.name not in BY_TOKEN]:
        response = client.post(sample_address(pattern))
        assert response.status_code == 403, pattern.name
        assert "page was too old" in response.content.decode()


def test_a_part_of_a_page_is_not_answered_with_a_sign_in_form(stranger):
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/loaves/?stage=cured"}
    response = stranger.get("/loaves/?q=2", headers=headers)
    assert response["HX-Redirect"] == "/sign-in/?next=/loaves/%3Fstage%3Dcured"
    assert not response.content
    elsewhere = headers | {"HX-Current-URL": "https://evil.example/loaves/"}
    assert stranger.get("/loaves/", headers=elsewhere)["HX-Redirect"] == "/sign-in/?next=/"


class Page(HTMLParser):
    """The links of a page, and what the content security policy would have to be weakened for."""

    def __init__(self, html):
        super().__init__()
        self.links, self.faults = [], []
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        told = dict(attributes)
        if tag == "style" or (tag == "script" and "src" not in told):
            self.faults.append(f"inline <{tag}>")
        for name, value in attributes:
            if name == "style" or name.startswith(("on", "hx-on")) or (value or "").startswith("javascript:"):
                self.faults.append(f"<{tag} {name}={value}>")
            if name in ("src", "href", "action") and re.match(r"(https?:)?//", value or ""):
                self.faults.append(f"leads elsewhere: {value}")
        if tag == "a" and (told.get("href") or "").startswith(("/", "?")):
            self.links.append(told["href"])


def assert_hardened(response):
    policy = {
        name: sources for name, *sources in map(str.split, response["Content-Security-Policy"].split(";"))
    }
    assert policy["default-src"] == policy["frame-ancestors"] == policy["base-uri"] == ["'none'"]
    assert policy["script-src"] == policy["style-src"] == policy["form-action"] == ["'self'"]
    assert set().union(*policy.values()) <= {"'none'", "'self'", "data:", "blob:"}
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["X-Frame-Options"] == "DENY"
    assert response["Referrer-Policy"] == "same-origin"
    assert response["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "geolocation=()" in response["Permissions-Policy"]
    assert "private" in response["Cache-Control"]
    if response["Content-Type"].startswith("text/html"):
        assert not Page(response.content.decode()).faults


@pytest.fixture
def furnished(owner, settings, tmp_path):
    """A row for every kind of page, so that each can be seen filled."""
    settings.PHOTO_DIR = tmp_path
    jpeg = BytesIO()
    Image.new("RGB", (40, 30), "tan").save(jpeg, "JPEG")
    loaf = make_cut_loaf()
    photograph(loaf, told(30), take_in(jpeg), "face")
    check(loaf, told(40), "smell", "fail")
    Scale.objects.create(name="Kitchen")
    Person.objects.create_user("henk")
    people.invite("helper", owner)
    keep_lot(Lot(kind="soap", name="Ends", code="T1", received_g=90), [PartTaken(loaf.batch, 90)])
    Complaint.objects.create(at=timezone.now(), batch=loaf.batch, what="Itches")


def crawl(client, start):
    """Every kind of page that links lead to: name of the address and its words, with the answer."""
    waiting, seen = [start], {}
    while waiting:
        address = waiting.pop(0)
        match = resolve(urlsplit(address).path)
        kind = (match.url_name, *(word for word in match.kwargs.values() if isinstance(word, str)))
        if kind in seen:
            continue
        seen[kind] = client.get(address, follow=True)
        content = b"".join(seen[kind])
        if seen[kind]["Content-Type"].startswith("text/html"):
            waiting += [urljoin(address, link) for link in Page(content.decode()).links]
    return seen


def test_every_page_that_links_lead_to_is_hardened(owner_client, furnished):
    seen = crawl(owner_client, "/")
    wanted = {"loaf", "faces", "recipe", "pour", "settings_workshop", "scale", "person_remove", "account"}
    wanted |= {"lot", "lot_edit", "trace_lot", "trace_batch", "complaint", "log"}
    assert wanted <= {name for name, *_ in seen}
    for kind, response in seen.items():
        assert response.status_code == 200, kind
        assert_hardened(response)


@named(GUARDED)
def test_whatever_an_owner_is_answered_is_hardened(owner_client, pattern):
    assert_hardened(owner_client.get(sample_address(pattern)))


def test_pages_for_strangers_and_pages_about_mistakes_are_hardened(stranger, helper_client, settings):
    settings.AXES_FAILURE_LIMIT = 1
    link = reverse("join", args=[people.invite("owner", None)[1]])
    answers = [
        (200, stranger.get("/sign-in/")),
        (200, stranger.get(link)),
        (200, stranger.get("/offline/")),
        (400, stranger.get("/", headers={"host": "evil.example"})),
        (401, stranger.post("/sign-in/", {"username": "x" * 70_000})),
        (403, helper_client.get("/workshop/people/")),
        (404, stranger.get("/nowhere/")),
        (422, stranger.post(link, {"name": ""})),
        (429, stranger.post("/sign-in/", {"username": "olga", "password": "guess"})),
    ]
    for status, response in answers:
        assert response.status_code == status
        assert_hardened(response)


def test_a_page_that_breaks_says_so_calmly(owner, monkeypatch):
    client = Client(raise_request_exception=False)
    client.force_login(owner)
    monkeypatch.setattr("curelog.views.settings.render", lambda *_: 1 / 0)
    response = client.get("/workshop/")
    assert response.status_code == 500
    assert "Something broke" in response.content.decode()
    assert "ZeroDivisionError" not in response.content.decode()
    assert_hardened(response)


def test_the_page_for_what_broke_needs_no_database(rf, db, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert failed(rf.get("/")).status_code == 500


def test_photos_keep_their_own_long_caching(owner_client, furnished):
    response = owner_client.get(reverse("picture", args=[Photo.objects.get().pk, "thumb"]))
    assert b"".join(response.streaming_content)
    assert response["Content-Type"] == "image/jpeg"
    assert "private" in response["Cache-Control"]
    assert "no-cache" not in response["Cache-Control"]


TEMPLATES = sorted(path for folder in settings.TEMPLATES[0]["DIRS"] for path in Path(folder).rglob("*.html"))
INLINE = re.compile(
    r"<style|<script(?![^>]*\ssrc=)|\s(style|on\w+|hx-on[\w:-]*)\s*=|javascript:", re.IGNORECASE
)


def test_the_scan_sees_what_it_looks_for():
    for fault in ('<p style="x">', "<b\nonclick = 'x'>", "<script>", '<script type="module">', "<style>"):
        assert INLINE.search(fault)
    assert not INLINE.search('<script type="module" src="x"></script> <p class="on">')


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_no_template_has_inline_script_or_style(template):
    assert not INLINE.search(template.read_text())


def deployed_check(tmp_path, **settings):
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith(("CURELOG", "DJANGO"))
    }
    environment |= {"CURELOG_DATA": str(tmp_path)} | settings
    return subprocess.run(command, cwd=BASE_DIR, env=environment, capture_output=True, text=True, timeout=60)


def test_the_production_settings_pass_djangos_own_check(tmp_path):
    result = deployed_check(tmp_path, CURELOG_HTTPS="1", CURELOG_HOSTS="soap.example")
    assert (result.returncode, result.stderr) == (0, "")


def test_that_check_can_fail(tmp_path):
    assert "security.W008" in deployed_check(tmp_path, CURELOG_HTTPS="0").stderr
    assert "security.W018" in deployed_check(tmp_path, CURELOG_HTTPS="1", CURELOG_DEBUG="1").stderr


def test_cookies_are_kept_from_scripts_and_other_sites(stranger, owner):
    stranger.post("/sign-in/", {"username": "olga", "password": PASSWORD})
    session = stranger.cookies["sessionid"]
    assert (session["httponly"], session["samesite"]) == (True, "Lax")
    assert stranger.cookies["csrftoken"]["samesite"] == "Lax"
