"""The log of scale checks and cleaning."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from curelog.actions.registers import keep_row
from curelog.forms.registers import CleaningForm, ScaleCheckForm
from curelog.models import LogEntry
from curelog.views.access import Request

SHOWN = 200
FORMS: dict[str, type[ScaleCheckForm] | type[CleaningForm]] = {
    "scale": ScaleCheckForm,
    "cleaning": CleaningForm,
}


def log(request: Request) -> HttpResponse:
    """POST keeps an entry of the kind whose button was pressed."""
    kind = next((name for name in FORMS if f"keep_{name}" in request.POST), "")
    forms = {
        name: form(request.POST if name == kind else None, workshop=request.workshop, prefix=name)
        for name, form in FORMS.items()
    }
    if kind and forms[kind].is_valid():
        entry = forms[kind].as_entry(request.user)
        keep_row(entry)
        say(request, entry)
        return redirect("log")
    context = {"forms": forms, "entries": LogEntry.objects.select_related("by")[:SHOWN]}
    return render(request, "log/index.html", context, status=422 if kind else 200)


def say(request: Request, entry: LogEntry) -> None:
    if entry.is_within:
        messages.success(request, f"Kept: {entry.what}.", extra_tags="good")
    else:
        words = f"Kept: {entry.what} is off by more than it may. Weigh nothing with it until it is put right."
        messages.warning(request, words, extra_tags="bad")
