"""What the phone asks for to become an app: manifest, worker, precache list, pages to keep."""

import io
import json
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import call_command
from django.urls import reverse
from PIL import Image

from curelog import release
from curelog.actions import cure, mould
from curelog.actions.photo import photograph, take_in
from curelog.views.pwa import MOST_PAGES
from tests import factories

IMPORT = re.compile(r"""(?:from|import)\s*["'](\.{1,2}/[^"']+)["']|importScripts\("([^"]+)"\)""")


@pytest.fixture
def collected(settings, tmp_path):
    """Static files under their hashed names, as `start` makes them."""
    backend = {"BACKEND": "curelog.staticfiles.HashedStorage"}
    settings.STORAGES = settings.STORAGES | {"staticfiles": backend}
    settings.STATIC_ROOT = tmp_path
    forget()
    call_command("collectstatic", verbosity=0, interactive=False)
    yield tmp_path
    forget()


def forget():
    release.static_urls.cache_clear()
    release.name.cache_clear()


def test_the_manifest_fulfils_what_browsers_ask_of_an_app(stranger):
    answer = stranger.get("/manifest.webmanifest")
    told = json.loads(answer.content)
    assert answer["Content-Type"] == "application/manifest+json"
    assert (told["display"], told["start_url"], told["scope"]) == ("standalone", "/", "/")
    assert {(icon["sizes"], icon["purpose"]) for icon in told["icons"]} >= {
        ("192x192", "any"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }
    for icon in told["icons"]:
        source = Path(finders.find(icon["src"].removeprefix("/static/")))
        with Image.open(source) as drawn:
            assert f"{drawn.width}x{drawn.height}" == icon["sizes"]
    assert [shortcut["url"] for shortcut in told["shortcuts"]]


def test_maskable_icons_leave_room_for_any_mask():
    """Within a circle of 80 % of the width everything must be kept (W3C manifest, "maskable" safe zone): outside it
    there is nothing but the ground."""
    with Image.open(finders.find("icons/maskable-512.png")) as icon:
        ground = icon.getpixel((2, 2))
        middle, radius = 256, 0.4 * 512
        outside = [
            (x, y)
            for x in range(0, 512, 4)
            for y in range(0, 512, 4)
            if (x - middle) ** 2 + (y - middle) ** 2 > radius**2
        ]
        assert {icon.getpixel(place) for place in outside} == {ground}


def test_pages_lead_to_manifest_icon_and_app(owner_client):
    page = owner_client.get("/").content.decode()
    assert 'rel="manifest"' in page
    assert 'rel="apple-touch-icon"' in page
    assert 'src="/static/js/app.js"' in page
    # Without hashed names there is no worker that could keep an old module for ever.
    assert 'data-worker-url=""' in page
    assert owner_client.get("/service-worker.js").status_code == 404


def test_the_worker_may_rule_everything_and_is_never_kept_by_caches(stranger, collected):
    answer = stranger.get("/service-worker.js")
    assert answer["Service-Worker-Allowed"] == "/"
    assert "no-cache" in answer["Cache-Control"]
    assert answer["Content-Type"].startswith("text/javascript")


def test_the_precache_list_names_existing_hashed_files_and_all_that_they_import(stranger, collected):
    script = stranger.get("/service-worker.js").content.decode()
    listed = set(json.loads(re.search(r"RELEASE = (\{.*\});", script)[1])["files"])
    assert any(re.fullmatch(r"/static/js/app\.[0-9a-f]{12}\.js", url) for url in listed)
    for url in listed:
        file = collected / url.removeprefix("/static/")
        assert re.search(r"\.[0-9a-f]{12}\.(js|css|svg)$", url), url
        if file.suffix == ".js" and "htmx" not in url:
            for relative, _ in IMPORT.findall(file.read_text()):
                target = "/" + str((file.parent / relative).resolve().relative_to(collected.resolve().parent))
                assert target.replace(f"/{collected.name}/", "/static/") in listed, (url, relative)


def test_every_import_line_ends_so_that_it_is_hashed():
    """Django leaves an import without its semicolon as it is, silently."""
    sources = Path(finders.find("js/app.js")).parent
    for file in sources.glob("*.js"):
        for line in re.findall(r"^(?:import|export) .*from .*$", file.read_text(), re.M):
            assert line.endswith(";"), (file.name, line)


def test_the_release_has_another_name_when_a_file_has_changed(settings, collected):
    before = release.name()
    manifest = collected / "staticfiles.json"
    told = json.loads(manifest.read_text())
    told["paths"]["js/app.js"] = "js/app.000000000000.js"
    manifest.write_text(json.dumps(told))
    staticfiles_storage.hashed_files, _ = staticfiles_storage.load_manifest()
    forget()
    assert release.name() != before


def test_the_page_without_a_network_knows_nobody(owner_client):
    page = owner_client.get("/offline/").content.decode()
    assert "not on the phone" in page


@pytest.mark.parametrize("name", ["outbox", "pages"])
def test_what_is_kept_for_a_person_is_for_signed_in_people(stranger, name, db):
    assert stranger.get(reverse(name)).status_code == 302


def test_the_pages_to_keep_are_todays_and_those_of_every_active_loaf(owner_client):
    loaf = factories.make_loaf()
    urls = [page["url"] for page in owner_client.get("/offline/pages.json").json()["pages"]]
    assert {"/", "/outbox/", f"/loaves/{loaf.pk}/", f"/loaves/{loaf.pk}/cut/"} <= set(urls)
    assert f"/recipes/{loaf.batch.recipe_id}/pour/" in urls
    assert all(owner_client.get(url).status_code == 200 for url in urls)


def test_answers_to_failed_checks_and_faces_are_kept_where_there_are_any(owner_client, settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    loaf = factories.make_cut_loaf()

    def urls():
        return {page["url"] for page in owner_client.get("/offline/pages.json").json()["pages"]}

    plain = urls()
    failed = cure.check(loaf, factories.told(500), "zap", "fail", "", {})
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "tan").save(picture, "JPEG")
    photograph(loaf, factories.told(501), take_in(picture), "face")
    assert urls() - plain == {f"/checks/{failed.pk}/answer/", f"/loaves/{loaf.pk}/faces/"}


def test_a_fact_changes_the_stamp_of_its_loaf_alone(owner_client):
    one, other = factories.make_loaf(number="26-001"), factories.make_loaf(number="26-002")

    def stamps():
        pages = owner_client.get("/offline/pages.json").json()["pages"]
        return {page["url"]: page["stamp"] for page in pages}

    before = stamps()
    mould.check_firmness(one, factories.told(5), "dents")
    after = stamps()
    changed = {url for url in before if before[url] != after[url]}
    assert f"/loaves/{one.pk}/" in changed
    assert not [url for url in changed if str(other.pk) in url]


def test_the_list_of_pages_is_bounded_and_its_queries_do_not_grow(
    owner_client, django_assert_max_num_queries
):
    recipe = factories.make_recipe()
    loaves = [factories.make_loaf(recipe, number=f"26-{count:03d}") for count in range(1, 91)]
    with django_assert_max_num_queries(60):
        pages = owner_client.get("/offline/pages.json").json()["pages"]
    assert len(pages) == MOST_PAGES
    # Rather every loaf without some of its forms than some loaves not at all.
    assert {f"/loaves/{loaf.pk}/" for loaf in loaves} <= {page["url"] for page in pages}


def test_a_worker_script_has_no_unfilled_place(stranger, collected):
    script = stranger.get("/service-worker.js").content.decode()
    assert not re.search(r"\{\{|\{%", script)


def test_all_modules_of_a_page_are_named_at_once(owner_client):
    page = owner_client.get("/").content.decode()
    preloaded = set(re.findall(r'rel="modulepreload" href="/static/([^"]+)"', page))
    assert {"js/outbox.js", "js/store.js", "vendor/idb/idb.js"} <= preloaded
    sources = [Path(finders.find(name)) for name in preloaded]
    for source in sources:
        for relative, _ in IMPORT.findall(source.read_text()):
            assert (source.parent / relative).resolve() in {other.resolve() for other in sources}
