"""Entries that were typed in an older release of a form."""

from django.http import QueryDict

from curelog.forms.base import WorkshopForm
from curelog.forms.entry import Entry


def brought_up_to_date(entry: Entry, blank: WorkshopForm) -> QueryDict:
    """Fields that the phone's form did not have yet take what a new form would suggest. What was typed into fields
    that are gone is kept in the note: nothing typed is lost by an upgrade."""
    data = entry.data
    for name, field in blank.fields.items():
        if field.required and name not in entry.names and name not in data:
            value = blank[name].value()
            data.setlist(
                name, [str(part) for part in (value if isinstance(value, list | tuple) else [value])]
            )
    left = [f"{name}: {value}" for name, value in entry.fields if value and name not in blank.fields]
    if left:
        data["note"] = "\n".join(filter(None, [data.get("note", ""), *left]))
    return data
