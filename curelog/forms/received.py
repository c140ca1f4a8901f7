"""Entries that were typed in an older release of a form."""

from collections.abc import Collection
from typing import Any

from django import forms
from django.http import QueryDict

from curelog.forms.base import WorkshopForm
from curelog.forms.entry import Entry


def brought_up_to_date(entry: Entry, form: WorkshopForm, also_known: Collection[str] = ()) -> QueryDict:
    """Fields that the phone's form did not have yet take what a new form would suggest. What was typed into fields
    that are gone is kept in the note: nothing typed is lost by an upgrade."""
    data = entry.data
    for name, field in form.fields.items():
        if field.required and name not in entry.names and name not in data:
            data.setlist(name, suggested(form, name, field))
    known = {*form.fields, *also_known}
    left = [f"{name}: {value}" for name, value in entry.fields if value and name not in known]
    if left:
        data["note"] = "\n".join(filter(None, [data.get("note", ""), *left]))
    return data


def suggested(form: WorkshopForm, name: str, field: forms.Field) -> list[str]:
    value: Any = field.prepare_value(form.get_initial_for_field(field, name))
    several = value if isinstance(value, list | tuple) else [value]
    return [str(part) for part in several if part is not None]
