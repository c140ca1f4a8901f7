from pathlib import Path

import pytest

from curelog.serving import static


@pytest.fixture
def source(tmp_path: Path, settings) -> Path:
    settings.DATA_DIR = tmp_path
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    folder = tmp_path / "source"
    folder.mkdir()
    settings.STATICFILES_DIRS = [folder]
    from django.contrib.staticfiles import finders

    finders.get_finder.cache_clear()
    (folder / "app.css").write_text("body { color: black }")
    yield folder
    finders.get_finder.cache_clear()


def test_collected_once_and_again_when_something_changed(source: Path, settings) -> None:
    static.collect()
    collected = settings.STATIC_ROOT / "app.css"
    assert collected.read_text() == "body { color: black }"

    collected.unlink()
    static.collect()
    assert not collected.exists(), "nothing changed, so nothing was done"

    (source / "app.css").write_text("body { color: darkred }")
    (source / "new.css").write_text("")
    static.collect()
    assert collected.read_text() == "body { color: darkred }"

    (source / "new.css").unlink()
    static.collect()
    assert not (settings.STATIC_ROOT / "new.css").exists()
