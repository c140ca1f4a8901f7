"""What README and DEVELOPERS promise is there."""

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SETTING = re.compile(r"CURELOG_[A-Z_]+[A-Z]")


def settings_read() -> set[str]:
    code = [path.read_text(encoding="utf-8") for path in (ROOT / "curelog").rglob("*.py")]
    return set(re.findall(r"""environment\.\w+\(\s*["'](CURELOG_\w+)["']""", "\n".join(code)))


def settings_told() -> set[str]:
    rows = [line for line in README.splitlines() if line.startswith("| `CURELOG_")]
    return {name for row in rows for name in SETTING.findall(row.split("|")[1])}


def test_the_settings_table_is_complete() -> None:
    assert len(settings_read()) > 5
    assert settings_told() == settings_read()


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_named_setting_exists(text: str) -> None:
    assert set(SETTING.findall(text)) <= settings_read()


def test_readme_is_short_and_begins_with_the_job() -> None:
    assert len(README.splitlines()) < 120
    assert README.index("soap") < README.index("python3 -m venv")


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_named_commands_exist(text: str) -> None:
    named = set(re.findall(r"manage\.py (\w+)", text))
    assert named
    assert named <= set(get_commands())


def test_named_files_exist() -> None:
    named = set(re.findall(r"`((?:[\w.]+/)*[\w.]+\.(?:py|md|csv|html|mjs)|(?:\w+/)+)`", DEVELOPERS))
    assert named
    places = (ROOT, ROOT / "curelog", ROOT / "curelog" / "domain" / "data")
    assert [name for name in sorted(named) if not any((place / name).exists() for place in places)] == []


def test_every_dependency_is_accounted_for() -> None:
    listed = re.search(r"^dependencies = \[(.*?)\]", (ROOT / "pyproject.toml").read_text(), re.S | re.M)
    assert listed
    names = re.findall(r'"([A-Za-z-]+)', listed[1])
    table = DEVELOPERS[DEVELOPERS.index("## Dependencies") :].lower()
    assert [name for name in names if name not in table] == []
