"""Rows as lines: JSON Lines, exact, for programs and the way back; CSV for spreadsheets."""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from django.db import models

from curelog.exports.kinds import KINDS, told_fields, told_sets
from curelog.models import Bar, Loaf

CHUNK_ROWS = 500
# A spreadsheet takes a text that begins so for a formula and would run it (OWASP, "CSV injection"): it gets an
# apostrophe in front, which spreadsheets do not show.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def objects(model: type[models.Model]) -> Iterator[models.Model]:
    """In the order of the keys, a few at a time."""
    found = model._default_manager.order_by("pk").prefetch_related(
        *(field.name for field in told_sets(model))
    )
    return found.iterator(chunk_size=CHUNK_ROWS)


def told(row: models.Model) -> dict[str, Any]:
    """A row as plain values, its links as keys."""
    values = {field.name: plain(getattr(row, field.attname)) for field in told_fields(type(row))}
    sets = {
        field.name: sorted(plain(o.pk) for o in getattr(row, field.name).all())
        for field in told_sets(type(row))
    }
    return values | sets


def plain(value: Any) -> Any:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def json_lines(model: type[models.Model]) -> Iterator[bytes]:
    for row in objects(model):
        yield json.dumps(told(row), ensure_ascii=False, allow_nan=False).encode() + b"\n"


class Numbers:
    """What people call a loaf and a bar: beside the keys in the CSV files."""

    def __init__(self) -> None:
        loaves = Loaf.objects.select_related("batch").only("letter", "batch__number").order_by()
        self.of: dict[type[models.Model], dict[Any, str]] = {
            Loaf: {str(loaf.pk): loaf.number for loaf in loaves.iterator(chunk_size=CHUNK_ROWS)},
            Bar: {pk: str(number) for pk, number in Bar.objects.order_by().values_list("pk", "number")},
        }

    def columns(self, model: type[models.Model]) -> dict[str, dict[Any, str]]:
        """Column to its numbers, of those that point at loaves or bars."""
        links = [*told_fields(model), *told_sets(model)]
        return {link.name: self.of[link.related_model] for link in links if link.related_model in self.of}


def csv_lines(model: type[models.Model], numbers: Numbers) -> Iterator[bytes]:
    """UTF-8 with its mark, without which spreadsheets guess another alphabet."""
    named = numbers.columns(model)
    names = [field.name for field in [*told_fields(model), *told_sets(model)]]
    yield b"\xef\xbb\xbf" + csv_line([*names, *(f"{name}_number" for name in named)])
    for row in objects(model):
        values = told(row)
        called = (words_for(values[name], words) for name, words in named.items())
        yield csv_line([*(cell(values[name]) for name in names), *map(guarded, called)])


def words_for(keys: Any, words: dict[Any, str]) -> str:
    return " ".join(words.get(key, "") for key in (keys if isinstance(keys, list) else [keys]))


def cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, list) and all(isinstance(part, int) for part in value):
        return " ".join(map(str, value))
    return guarded(json.dumps(value, ensure_ascii=False)) if isinstance(value, list | dict) else repr(value)


def guarded(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def csv_line(cells: Iterable[str]) -> bytes:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(cells)
    return out.getvalue().encode()


def counts() -> dict[str, int]:
    return {str(model._meta.model_name): model._default_manager.count() for model in KINDS}
