"""The data dictionary: every field of every file, told from the models."""

from collections.abc import Iterator
from typing import Any

from django.db import models

from curelog.exports.kinds import KINDS, kind_name, told_fields, told_sets
from curelog.exports.meanings import MEANINGS, UNITS

HEADER = ("file", "field", "type", "unit", "may be empty", "values", "meaning")
TYPES: "tuple[tuple[type[models.Field[Any, Any]], str], ...]" = (
    (models.UUIDField, "key (UUID)"),
    (models.DateTimeField, "moment (ISO 8601, UTC)"),
    (models.DateField, "date (ISO 8601)"),
    (models.TimeField, "time of day"),
    (models.BooleanField, "true or false"),
    (models.FloatField, "number"),
    (models.IntegerField, "whole number"),
    (models.JSONField, "JSON"),
    (models.CharField, "text"),
    (models.TextField, "text"),
)


def rows() -> Iterator[tuple[str, ...]]:
    for model in KINDS:
        kind = kind_name(model)
        for field in [*told_fields(model), *told_sets(model)]:
            yield (
                kind,
                field.name,
                type_of(field),
                unit_of(kind, field.name),
                "yes" if field.null or field.many_to_many or field.blank else "no",
                "; ".join(f"{value} = {label}" for value, label in field.flatchoices if value != ""),
                meaning_of(kind, field),
            )


def type_of(field: "models.Field[Any, Any]") -> str:
    if field.remote_field:
        other = kind_name(field.related_model)  # type: ignore[arg-type]
        return f"ids of {other}" if field.many_to_many else f"id of {other}"
    return next(words for kind, words in TYPES if isinstance(field, kind))


def unit_of(kind: str, name: str) -> str:
    return next((unit for end, unit in UNITS.items() if f"{kind}.{name}".endswith(end)), "")


def meaning_of(kind: str, field: "models.Field[Any, Any]") -> str:
    own = MEANINGS.get(f"{kind}.{field.name}") or str(field.help_text).rstrip(".")
    return own or MEANINGS.get(field.name, "")
