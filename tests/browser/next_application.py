"""The application of an invented next release: a note asks for a place, a check has lost its reading."""
# ruff: noqa: I001  the application first: it sets Django up

from curelog.wsgi import application
from django import forms

from curelog.actions import cure
from curelog.forms.cure import CheckForm, NoteForm

__all__ = ["application"]

NoteForm.base_fields["place"] = forms.ChoiceField(
    choices=[("rack", "Rack"), ("bench", "Bench")], initial="rack"
)
del CheckForm.base_fields["value"]


def keep(form: CheckForm, told):
    return cure.check(form.loaf, told, form.cleaned_data["kind"], form.cleaned_data["outcome"])


CheckForm.keep = keep
