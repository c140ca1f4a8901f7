import stat
from pathlib import Path

import pytest

from curelog.serving import folder
from curelog.serving.failure import CannotStart


def test_the_key_is_made_once_and_for_its_owner_only(tmp_path: Path) -> None:
    assert folder.make_key(tmp_path) is True
    key = tmp_path / "secret.key"
    told = key.read_text()
    assert len(told) >= 50
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert folder.make_key(tmp_path) is False
    assert key.read_text() == told
    assert [path.name for path in tmp_path.iterdir()] == ["secret.key"]


def test_the_demo_lies_beside() -> None:
    demo = folder.demo_folder(Path("/srv/curelog"))
    assert demo == Path("/srv/curelog-demo")
    assert folder.demo_folder(demo) == demo


def test_only_what_a_demo_made_is_wiped(tmp_path: Path) -> None:
    mine = tmp_path / "soap-demo"
    mine.mkdir()
    (mine / "curelog.sqlite3").write_text("three years of work")
    with pytest.raises(CannotStart, match="left alone"):
        folder.open_demo_folder(mine)
    assert (mine / "curelog.sqlite3").exists()


def test_a_wiped_demo_keeps_what_is_not_the_workshops(tmp_path: Path) -> None:
    demo = tmp_path / "curelog-demo"
    folder.open_demo_folder(demo)
    (demo / "photos" / "ab").mkdir(parents=True)
    (demo / "static").mkdir()
    (demo / "curelog.sqlite3").write_text("")
    folder.open_demo_folder(demo)
    folder.wipe_demo(demo)
    assert {path.name for path in demo.iterdir()} == {"static", folder.DEMO_MARK}


def test_one_start_a_folder(tmp_path: Path) -> None:
    with (
        folder.held(tmp_path),
        pytest.raises(CannotStart, match="already being served"),
        folder.held(tmp_path),
    ):
        pass
    with folder.held(tmp_path):
        pass


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotStart, match="CURELOG_DATA"):
        folder.open_folder(tmp_path / "file")
