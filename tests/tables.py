"""Published reference tables, copied with their columns of source and of what was seen."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
