"""Rows as lines: JSON Lines, exact, for programs and the way back; CSV for spreadsheets."""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from itertools import islice
from typing import Any
from uuid import UUID

from django.db import models

from curelog.exports.kinds import told_fields, told_sets
from curelog.models import Bar, Loaf

CHUNK_ROWS = 500
# A spreadsheet takes a text that begins so for a formula and would run it (OWASP, "CSV injection"): it gets an
# apostrophe in front, which spreadsheets do not show.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def told(model: type[models.Model]) -> Iterator[dict[str, Any]]:
    """Rows as plain values, their links as keys: in the order of the keys, a few at a time."""
    fields, sets = told_fields(model), told_sets(model)
    names, key = [field.name for field in fields], model._meta.pk.name
    found = model._default_manager.order_by("pk").values_list(*(field.attname for field in fields))
    values = found.iterator(chunk_size=CHUNK_ROWS)
    while chunk := list(islice(values, CHUNK_ROWS)):
        linked = {field.name: links(field, [row[names.index(key)] for row in chunk]) for field in sets}
        for row in chunk:
            of_sets = {name: keys.get(row[names.index(key)], []) for name, keys in linked.items()}
            yield {name: plain(value) for name, value in zip(names, row, strict=True)} | of_sets


def links(field: "models.Field[Any, Any]", keys: list[Any]) -> dict[Any, list[Any]]:
    """From each of the keys to the keys it is linked with, in order."""
    through = field.remote_field.through  # type: ignore[union-attr]
    own, other = field.m2m_field_name(), field.m2m_reverse_field_name()  # type: ignore[attr-defined]
    found: dict[Any, list[Any]] = {}
    pairs = through._default_manager.filter(**{f"{own}__in": keys}).order_by(f"{other}_id")
    for key, linked in pairs.values_list(f"{own}_id", f"{other}_id"):
        found.setdefault(key, []).append(plain(linked))
    return found


def plain(value: Any) -> Any:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def json_lines(model: type[models.Model]) -> Iterator[bytes]:
    for row in told(model):
        yield json.dumps(row, ensure_ascii=False, allow_nan=False).encode() + b"\n"


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
    for values in told(model):
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
