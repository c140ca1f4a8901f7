"""Who works here: inviting by a link that is shown once, withdrawing it, removing a person."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from curelog.actions import people as actions
from curelog.forms.settings import InviteForm
from curelog.models import Invitation, Person
from curelog.views.access import Request, owner_only
from curelog.views.handing_over import shown_once


@owner_only
@never_cache
def people(request: Request) -> HttpResponse:
    """The link is part of the answer to the form and is kept nowhere: there is no second look at it."""
    form = InviteForm(request.POST or None, workshop=request.workshop, initial={"role": Person.Role.HELPER})
    if form.is_valid():
        return render(request, "settings/invited.html", invited(request, form.cleaned_data["role"]))
    context = {
        "form": form,
        "people": Person.objects.order_by("-role", "first_name", "username"),
        "invitations": Invitation.open_at(timezone.now()).order_by("made_at"),
    }
    return render(request, "settings/people.html", context, status=422 if form.is_bound else 200)


def invited(request: Request, role: str) -> dict[str, object]:
    invitation, token = actions.invite(role, request.user)
    return {"invitation": invitation} | shown_once(request, reverse("join", args=[token]))


@owner_only
def person(request: Request, pk: int) -> HttpResponse:
    """Somebody else; what is one's own is under Account."""
    known = get_object_or_404(Person.objects.exclude(pk=request.user.pk), pk=pk)
    return render(request, "settings/person.html", {"person": known})


@owner_only
@require_POST
def role(request: Request, pk: int) -> HttpResponse:
    known = get_object_or_404(Person.objects.exclude(pk=request.user.pk), pk=pk)
    wanted = Person.Role.OWNER if request.POST.get("role") == Person.Role.OWNER else Person.Role.HELPER
    try:
        actions.change_role(known, wanted)
    except actions.LastOwner:
        messages.error(request, f"{known.shown_name} is the last owner and stays one.", extra_tags="bad")
    else:
        messages.success(request, f"{known.shown_name} is now {wanted.label.lower()}.", extra_tags="good")
    return redirect("people")


@owner_only
@require_POST
def withdraw(request: Request, pk: int) -> HttpResponse:
    actions.withdraw_invitation(get_object_or_404(Invitation, pk=pk, used_at=None))
    messages.success(request, "The link no longer works.", extra_tags="good")
    return redirect("people")


@owner_only
def remove(request: Request, pk: int) -> HttpResponse:
    """Asks first. Nobody removes their own account: another owner does."""
    person = get_object_or_404(Person.objects.exclude(pk=request.user.pk), pk=pk)
    if request.method != "POST":
        return render(request, "settings/remove.html", {"person": person})
    name = person.shown_name
    try:
        actions.remove(person)
    except actions.LastOwner:
        messages.error(request, f"{name} is the last owner and stays.", extra_tags="bad")
    else:
        messages.success(request, f"{name} is removed.", extra_tags="good")
    return redirect("people")
