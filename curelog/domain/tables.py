"""The domain's own data files: CSV with a header, each row with its source."""

import csv
from collections.abc import Iterator
from importlib.resources import files


def table_rows(name: str) -> Iterator[dict[str, str]]:
    with files("curelog.domain").joinpath("data", name).open(encoding="utf-8") as lines:
        yield from csv.DictReader(lines)
