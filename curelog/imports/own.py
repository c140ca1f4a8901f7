"""Reading an own export into an empty workshop: all of it, with the same keys, or nothing."""

import json
import math
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import IntegrityError, connection, models, transaction

from curelog import photos
from curelog.exports.kinds import KINDS, NOT_TOLD, kind_name, told_fields, told_sets
from curelog.exports.stream import ABOUT, FORMAT
from curelog.imports import ImportRefused
from curelog.imports.older import as_told_now
from curelog.models import Photo, Workshop
from curelog.reminders.planning import replan_all
from curelog.version import unknown_migrations

CHUNK_ROWS = 500
LINE_LIMIT_BYTES = 1024 * 1024
# Rows of one kind look alike, but not that much alike.
MOST_PACKED = 300
Say = Callable[[str], None]


def read_in(path: Path, say: Say) -> None:
    with opened(path) as archive:
        rows = check_about(archive, path)
        check_empty()
        stored: list[UUID] = []
        try:
            with transaction.atomic():
                # Made by a look at an empty workshop.
                Workshop.objects.all().delete()
                for model in KINDS:
                    count = read_kind(archive, model)
                    if count != rows.get(kind_name(model), 0):
                        raise ImportRefused(f"{path} is not whole: rows of {kind_name(model)} are missing.")
                connection.check_constraints()
                say(f"{sum(rows.values())} rows are read; now the photos ...")
                store_photos(archive, stored, say)
                number_on()
                replan_all()
        except BaseException:
            for key in stored:
                photos.erase(settings.PHOTO_DIR, key)
            raise


@contextmanager
def opened(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            if any(
                info.file_size > MOST_PACKED * max(1000, info.compress_size) for info in archive.infolist()
            ):
                raise ImportRefused(f"{path} is packed tighter than any export.")
            yield archive
    except OSError as error:
        raise ImportRefused(f"{path} cannot be read: {error.strerror or error}.") from error
    except (zipfile.BadZipFile, KeyError, ValueError, NotImplementedError, RuntimeError) as error:
        raise ImportRefused(f"{path} is not a whole export of curelog.") from error
    except IntegrityError as error:
        raise ImportRefused(f"{path} does not fit together ({error}): export it again.") from error


def check_about(archive: zipfile.ZipFile, path: Path) -> dict[str, int]:
    """How many rows there are of each kind."""
    with archive.open(ABOUT) as member:
        about = json.loads(member.read(LINE_LIMIT_BYTES))
    try:
        if about["format"] > FORMAT or unknown_migrations(about["migrations"]):
            raise ImportRefused(f"{path} was made by a newer curelog: install that version to read it.")
        return {str(kind): int(count) for kind, count in about["rows"].items()}
    except (TypeError, AttributeError) as error:
        raise ValueError("no description of an export") from error


def check_empty() -> None:
    for model in KINDS:
        if model is not Workshop and model._default_manager.exists():
            raise ImportRefused(
                "There is something in this workshop already: read an export into an empty one, "
                "before its first account is made."
            )


def read_kind(archive: zipfile.ZipFile, model: type[models.Model]) -> int:
    name, count = f"jsonl/{kind_name(model)}.jsonl", 0
    if name not in archive.namelist():
        return 0
    lines = told_lines(archive, name)
    while chunk := list(islice(lines, CHUNK_ROWS)):
        rows = [
            row_of(model, told, f"{name}, line {count + place}") for place, told in enumerate(chunk, start=1)
        ]
        model._default_manager.bulk_create(rows)
        link(model, rows, chunk)
        count += len(chunk)
    return count


def told_lines(archive: zipfile.ZipFile, name: str) -> Iterator[dict[str, Any]]:
    with archive.open(name) as member:
        while line := member.readline(LINE_LIMIT_BYTES + 1):
            told = json.loads(line) if len(line) <= LINE_LIMIT_BYTES else None
            if not isinstance(told, dict):
                raise ValueError(f"{name}: not a row")
            yield told


def row_of(model: type[models.Model], told: dict[str, Any], where: str) -> models.Model:
    told = as_told_now(kind_name(model), told)
    known = {field.name for field in [*told_fields(model), *told_sets(model)]}
    if strange := sorted(told.keys() - known):
        raise ImportRefused(f"{where}: {strange[0]} is no field of this version.")
    kind = kind_name(model)
    row = model(
        **{name.split(".")[1]: make() for name, make in NOT_TOLD.items() if name.startswith(f"{kind}.")}
    )
    try:
        for field in told_fields(model):
            setattr(row, field.attname, value_of(field, told))
        row.clean_fields(exclude=unchecked(model))
    except ValidationError as error:
        raise ImportRefused(f"{where}: {in_words(error)}") from None
    return row


def value_of(field: "models.Field[Any, Any]", told: dict[str, Any]) -> Any:
    """A field that an older version did not know yet gets its usual value."""
    value = told[field.name] if field.name in told else field.get_default()
    value = (field.target_field if field.remote_field else field).to_python(value)  # type: ignore[attr-defined]
    if isinstance(value, float) and not math.isfinite(value):
        raise ValidationError({field.name: "This is not a number."})
    return value


def unchecked(model: type[models.Model]) -> set[str]:
    """Links are checked all at once at the end; what was not told needs no check."""
    kind = kind_name(model)
    links = {field.name for field in told_fields(model) if field.remote_field}
    return links | {name.split(".")[1] for name in NOT_TOLD if name.startswith(f"{kind}.")}


def in_words(error: ValidationError) -> str:
    told = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    return " ".join(f"{name}: {' '.join(words)}" if name else " ".join(words) for name, words in told.items())


def link(model: type[models.Model], rows: list[models.Model], told: list[dict[str, Any]]) -> None:
    for field in told_sets(model):
        through = field.remote_field.through  # type: ignore[union-attr]
        own, other = field.m2m_field_name(), field.m2m_reverse_field_name()  # type: ignore[attr-defined]
        through._default_manager.bulk_create(
            through(**{f"{own}_id": row.pk, f"{other}_id": key})
            for row, values in zip(rows, told, strict=True)
            for key in values.get(field.name, ())
        )


def store_photos(archive: zipfile.ZipFile, stored: list[UUID], say: Say) -> None:
    names, missing = set(archive.namelist()), 0
    for photo in Photo.objects.order_by("pk").iterator():
        found = {r: f"photos/{r}/{photo.pk}.jpg" for r in photos.LONG_SIDE_PX}
        if not names.issuperset(found.values()):
            missing += 1
            continue
        pictures = {rendition: picture(archive, name) for rendition, name in found.items()}
        stored.append(photo.pk)
        taken = photos.TakenPhoto(photo.sha256_received, photo.width, photo.height, pictures, None)
        photos.store(settings.PHOTO_DIR, photo.pk, taken)
    if missing:
        say(f"{missing} photos have no picture in the export.")


def picture(archive: zipfile.ZipFile, name: str) -> bytes:
    with archive.open(name) as member:
        jpeg = member.read(settings.PHOTO_LIMIT_BYTES + 1)
    if not jpeg.startswith(b"\xff\xd8\xff") or len(jpeg) > settings.PHOTO_LIMIT_BYTES:
        raise ImportRefused(f"{name} is not a picture of an export.")
    return jpeg


def number_on() -> None:
    """New rows are numbered after those read in; PostgreSQL would begin at 1."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(KINDS)):
            cursor.execute(statement)
