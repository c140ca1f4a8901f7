"""The shape of the house: imports run one way, the domain stays pure, the top level stays small."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
CODE = ROOT / "curelog"
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "manage.py",
    "curelog",
    "static",
    "templates",
    "tests",
}
LADDER = ("domain", "models", "reminders", "actions", "forms", "views")
NOT_MIRRORED = {"browser", "js", "bench", "data"}
LONGEST_FILE = 400
WORLD_CALLS = {"now", "today", "utcnow", "open", "urlopen"}
WORLD_MODULES = {"time", "os", "socket", "subprocess", "urllib", "http", "logging"}


def modules(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*.py")) if "migrations" not in path.parts)


def imported(path: Path) -> Iterator[str]:
    """Every module that a file names in an import, wherever in the file, in full."""
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) + 1 - node.level] if node.level else ()
            base = ".".join((*above, node.module) if node.module else above)
            yield from (f"{base}.{alias.name}" for alias in node.names)


def room(name: str) -> str:
    """`curelog.models.facts.Cut` lies in `models`, `curelog.units.plain` in `units`."""
    return name.split(".")[1]


def own_imports() -> dict[str, set[str]]:
    """For every room, the rooms it imports from."""
    found: dict[str, set[str]] = {}
    for path in modules(CODE):
        here = path.relative_to(CODE).parts[0].removesuffix(".py")
        names = {room(name) for name in imported(path) if name.startswith("curelog.")}
        found.setdefault(here, set()).update(names - {here})
    return found


def reach(start: str, edges: dict[str, set[str]]) -> set[str]:
    seen, ahead = set(), [start]
    while ahead:
        for name in edges.get(ahead.pop(), set()) - seen:
            seen.add(name)
            ahead.append(name)
    return seen


@pytest.mark.parametrize("place", range(len(LADDER)), ids=LADDER)
def test_imports_run_one_way(place: int) -> None:
    """Directly or by way of a helper, no room reaches one above it."""
    edges = own_imports()
    assert LADDER[place] in edges
    assert reach(LADDER[place], edges) & set(LADDER[place + 1 :]) == set()


def test_no_two_rooms_need_each_other() -> None:
    edges = own_imports()
    assert [name for name in edges if name in reach(name, edges)] == []


def test_the_domain_knows_numpy_and_the_standard_library_alone() -> None:
    allowed = {"numpy", *sys.stdlib_module_names}
    for path in modules(CODE / "domain"):
        foreign = {
            name
            for name in imported(path)
            if not name.startswith("curelog.domain.") and name.partition(".")[0] not in allowed
        }
        assert (path.name, foreign) == (path.name, set())


def test_the_domain_has_no_clock_and_reads_only_its_tables() -> None:
    for path in modules(CODE / "domain"):
        reached = {name.partition(".")[0] for name in imported(path)} & WORLD_MODULES
        reached |= set(calls(path)) & WORLD_CALLS
        if path.name == "tables.py":  # opens the domain's own data files
            reached -= {"open"}
        assert (path.name, reached) == (path.name, set())


def calls(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Attribute):
                yield node.func.attr
            elif isinstance(node.func, ast.Name):
                yield node.func.id


def test_the_top_level_holds_the_agreed_names() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    # What installing and building leave behind is named in .gitignore.
    left_behind = {name for name in found if name.endswith(".egg-info") or name == "build"}
    assert found - left_behind == TOP_LEVEL


def test_files_stay_small() -> None:
    kinds = {".py", ".js", ".css", ".html"}
    files = [path for top in ("curelog", "static", "templates") for path in (ROOT / top).rglob("*.*")]
    own = [path for path in files if path.suffix in kinds and not {"vendor", "migrations"} & set(path.parts)]
    assert len(own) > 50
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in own
    }
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST_FILE} == {}


def test_tests_lie_where_their_code_lies() -> None:
    folders = {path.parent.relative_to(ROOT / "tests") for path in (ROOT / "tests").rglob("test_*.py")}
    mirrored = {folder for folder in folders if folder.parts and folder.parts[0] not in NOT_MIRRORED}
    assert [str(folder) for folder in sorted(mirrored) if not (CODE / folder).is_dir()] == []


def test_no_drawer_for_everything() -> None:
    drawers = {"utils", "helpers", "common", "misc", "tools", "services"}
    assert [path for path in modules(CODE) if path.stem in drawers] == []
