"""A forgotten password: an owner makes a link, whoever forgot it opens it."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from curelog.actions import passwords
from curelog.forms.account import ForgottenForm
from curelog.models import Person
from curelog.views.access import Request, owner_only
from curelog.views.account import OWN_BACKEND, PASSWORDS
from curelog.views.handing_over import shown_once


@owner_only
@never_cache
@require_POST
def password_link(request: Request, pk: int) -> HttpResponse:
    """Shown once; for somebody else, as one's own password is changed under Account."""
    person = get_object_or_404(Person.objects.exclude(pk=request.user.pk), pk=pk)
    path = reverse("new_password", args=[person.pk, passwords.token_for(person)])
    return render(request, "settings/password_link.html", {"person": person} | shown_once(request, path))


@login_not_required
@never_cache
@sensitive_post_parameters(*PASSWORDS)
def new_password(request: Request, pk: int, token: str) -> HttpResponse:
    person = passwords.person_by(pk, token)
    if person is None:
        return closed(request)
    form = ForgottenForm(request.POST or None, workshop=request.workshop, person=person)
    if form.is_valid():
        try:
            person = passwords.set_new(pk, token, form.cleaned_data["password"])
        except passwords.LinkClosed:
            return closed(request)
        login(request, person, backend=OWN_BACKEND)
        return redirect("today")
    context = {"form": form, "person": person}
    return render(request, "registration/new_password.html", context, status=422 if form.is_bound else 200)


def closed(request: Request) -> HttpResponse:
    return render(request, "registration/join_closed.html", status=404)
