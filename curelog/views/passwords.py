"""A forgotten password: an owner makes a link, whoever forgot it opens it."""

import segno
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from curelog.actions import passwords
from curelog.forms.account import ForgottenForm
from curelog.models import Person
from curelog.views.access import Request, owner_only
from curelog.views.account import OWN_BACKEND, PASSWORDS
from curelog.views.people import is_here_only


@owner_only
@never_cache
@require_POST
def password_link(request: Request, pk: int) -> HttpResponse:
    """Shown once; for somebody else, as one's own password is changed under Account."""
    person = get_object_or_404(Person.objects.exclude(pk=request.user.pk), pk=pk)
    path = reverse("new_password", args=[person.pk, passwords.token_for(person)])
    address = request.build_absolute_uri(path)
    code = segno.make(address, error="m").svg_inline(scale=5, border=3, light="#fff", omitsize=True)
    context = {
        "person": person,
        "address": address,
        "code": mark_safe(code),  # drawn by segno from our own address
        "is_here_only": is_here_only(request),
    }
    return render(request, "settings/password_link.html", context)


@login_not_required
@never_cache
@sensitive_post_parameters(*PASSWORDS)
def new_password(request: Request, pk: int, token: str) -> HttpResponse:
    person = passwords.person_by(pk, token)
    if person is None:
        return render(request, "registration/join_closed.html", status=404)
    form = ForgottenForm(request.POST or None, workshop=request.workshop, person=person)
    if form.is_valid():
        passwords.set_new(person, form.cleaned_data["password"])
        login(request, person, backend=OWN_BACKEND)
        return redirect("today")
    context = {"form": form, "person": person}
    return render(request, "registration/new_password.html", context, status=422 if form.is_bound else 200)
