"""All that is wrong with a form in one list, for the top of a long page."""

from collections.abc import Iterable
from dataclasses import dataclass

from django import forms


@dataclass(frozen=True)
class Mistake:
    field_id: str
    label: str
    words: str


def mistakes(form: forms.Form, names: Iterable[str] | None = None) -> list[Mistake]:
    """Of the named fields, or of all."""
    wanted = form.errors if names is None else names
    return [
        Mistake(form[name].id_for_label or f"field-{name}", str(form[name].label), str(words))
        for name in wanted
        for words in form.errors[name]
    ]
