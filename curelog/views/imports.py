"""From a spreadsheet: choose the file, say what its columns are, see what would come of it, take it in."""

from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render

from curelog.actions.keeping import OtherBody
from curelog.actions.pour import NumberTaken
from curelog.forms.imports import FileForm, MatchForm
from curelog.imports import uploads
from curelog.imports.plan import Plan, take_in
from curelog.imports.wanted import SHEET_KINDS
from curelog.views.access import Request, owner_only

SHOWN_GOOD, SHOWN_BAD, SHOWN_OF_FILE = 8, 100, 3
AFTER = {"weights": "loaves", "loaves": "loaves", "room": "room"}


@owner_only
def imports(request: Request) -> HttpResponse:
    wanted = {"kind": request.GET.get("kind", "weights")}
    form = FileForm(request.POST or None, request.FILES or None, workshop=request.workshop, initial=wanted)
    if form.is_valid():
        return redirect("import_match", form.cleaned_data["kind"], form.cleaned_data["file"].digest)
    return render(request, "imports/index.html", {"form": form}, status=422 if form.is_bound else 200)


@owner_only
def match(request: Request, kind: str, digest: str) -> HttpResponse:
    """One form in two steps: shown first, taken in when the person says so after having seen it."""
    if kind not in SHEET_KINDS:
        raise Http404
    sheet = uploads.waiting(digest, SHEET_KINDS[kind])
    if sheet is None:
        messages.warning(request, "The file has waited too long. Choose it again.", extra_tags="warn")
        return redirect("imports")
    form = MatchForm(request.POST or None, sheet=sheet, kind=SHEET_KINDS[kind], workshop=request.workshop)
    plan = form.plan() if form.is_valid() else None
    if plan and not plan.bad and request.POST.get("step") == "take":
        return taken(request, kind, plan)
    context = {"form": form, "sheet": sheet, "kind": form.kind, "head": sheet.rows[:SHOWN_OF_FILE]}
    context |= shown(plan) if plan else {}
    is_wrong = form.is_bound and (not plan or plan.bad)
    return render(request, "imports/match.html", context, status=422 if is_wrong else 200)


def shown(plan: Plan) -> dict[str, Any]:
    return {
        "plan": plan,
        "bad": plan.bad[:SHOWN_BAD],
        "more_bad": max(0, len(plan.bad) - SHOWN_BAD),
        "good": plan.new[:SHOWN_GOOD],
        "more_good": max(0, len(plan.new) - SHOWN_GOOD),
    }


def taken(request: Request, kind: str, plan: Plan) -> HttpResponse:
    try:
        count = take_in(plan, request.user)
    except (OtherBody, NumberTaken, IntegrityError):
        # Somebody told it in the same moment: what is known has changed since it was planned.
        messages.error(
            request, "Somebody else was faster. Nothing was taken in: look again.", extra_tags="bad"
        )
        return redirect(request.path)
    what = SHEET_KINDS[kind].one if count == 1 else SHEET_KINDS[kind].many
    known = f" {len(plan.known)} were here already." if plan.known else ""
    messages.success(request, f"{count} {what} taken in.{known}", extra_tags="good")
    return redirect(AFTER[kind])
