"""The workshop's rules: which kinds, how long before, at what time of day; for all recipes or for one type."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from curelog.actions import reminding
from curelog.domain.reminding import Kind
from curelog.forms.reminders import HOURS, RuleForm
from curelog.models import Recipe, ReminderKind, ReminderRule
from curelog.models.reminders import rules_for
from curelog.views.access import Request, owner_only

# A person's own reminder needs no rule.
KINDS = tuple(kind for kind in ReminderKind if kind != ReminderKind.OWN)


@owner_only
def rules(request: Request) -> HttpResponse:
    usual = rules_for("")
    context = {
        "rules": [(kind, usual[Kind(kind)], Kind(kind) in HOURS) for kind in KINDS],
        "exceptions": ReminderRule.objects.exclude(recipe_kind="").order_by("kind", "recipe_kind"),
    }
    return render(request, "reminders/rules.html", context)


@owner_only
def rule(request: Request, kind: str) -> HttpResponse:
    if kind not in KINDS:
        raise Http404
    recipe_kind = request.GET.get("type", "")
    if recipe_kind not in ("", *Recipe.Kind.values):
        raise Http404
    known = rules_for(recipe_kind)[Kind(kind)]
    form = RuleForm(
        request.POST or None, workshop=request.workshop, kind=Kind(kind), rule=known, recipe_kind=recipe_kind
    )
    if form.is_valid():
        reminding.set_rule(kind, form.cleaned_data["recipe_kind"], form.values)
        messages.success(request, "The rule is kept; all reminders are planned anew.", extra_tags="good")
        return redirect("reminder_rules")
    context = {"form": form, "kind": ReminderKind(kind)}
    return render(request, "reminders/rule.html", context, status=422 if form.is_bound else 200)


@owner_only
@require_POST
def drop_rule(request: Request, pk: int) -> HttpResponse:
    reminding.drop_rule(get_object_or_404(ReminderRule, pk=pk))
    messages.success(request, "The usual rule holds again.", extra_tags="good")
    return redirect("reminder_rules")
