"""Signing in and out, joining by a link, and what is one's own: name, password, devices."""

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from curelog.actions import people
from curelog.forms.account import (
    NAME_TAKEN,
    FirstOwnerForm,
    JoinForm,
    NameForm,
    PasswordForm,
    SignInForm,
)
from curelog.models import Invitation, Person
from curelog.views.access import Request

OWN_BACKEND = "django.contrib.auth.backends.ModelBackend"
PASSWORDS = ("password", "password_again", "old_password")

sign_in = LoginView.as_view(
    form_class=SignInForm, template_name="registration/sign_in.html", redirect_authenticated_user=True
)


@login_not_required
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return signed_out()


def signed_out() -> HttpResponse:
    """With the session goes what the browser keeps by itself: a step back shows no page to who comes next."""
    response = redirect("sign_in")
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


@login_not_required
@never_cache
@sensitive_post_parameters(*PASSWORDS)
def join(request: Request, token: str) -> HttpResponse:
    """A link that is opened by a preview or by mistake stays good: only the form uses it up."""
    invitation = people.open_invitation(token)
    if invitation is None:
        return render(request, "registration/join_closed.html", status=404)
    form_class = FirstOwnerForm if is_first(invitation) else JoinForm
    form = form_class(request.POST or None, workshop=request.workshop)
    if form.is_valid():
        try:
            person = accepted(request, token, form)
        except IntegrityError:
            form.add_error("username", NAME_TAKEN)
        except people.InvitationClosed:
            return render(request, "registration/join_closed.html", status=404)
        else:
            login(request, person, backend=OWN_BACKEND)
            return redirect("today")
    context = {"form": form, "invitation": invitation, "is_first": is_first(invitation)}
    return render(request, "registration/join.html", context, status=422 if form.is_bound else 200)


def is_first(invitation: Invitation) -> bool:
    return invitation.role == Person.Role.OWNER and not Person.objects.exists()


def accepted(request: Request, token: str, form: JoinForm) -> Person:
    if not isinstance(form, FirstOwnerForm):
        return people.accept(token, form.newcomer())
    data = form.cleaned_data
    return people.open_workshop(
        token, form.newcomer(), request.workshop, data["workshop_name"], data["time_zone"]
    )


def account(request: Request) -> HttpResponse:
    form = NameForm(
        request.POST or None, workshop=request.workshop, initial={"name": request.user.get_full_name()}
    )
    if form.is_valid():
        people.rename(request.user, form.cleaned_data["name"])
        messages.success(request, "Your name is kept.", extra_tags="good")
        return redirect("account")
    return render(request, "account/index.html", {"form": form}, status=422 if form.is_bound else 200)


@sensitive_post_parameters(*PASSWORDS)
def password(request: Request) -> HttpResponse:
    """Other devices are signed out by it, this one stays."""
    form = PasswordForm(request.POST or None, workshop=request.workshop, person=request.user)
    if form.is_valid():
        people.change_password(request.user, form.cleaned_data["password"])
        update_session_auth_hash(request, request.user)
        messages.success(
            request, "Your new password is kept. Other devices are signed out.", extra_tags="good"
        )
        return redirect("account")
    return render(request, "account/password.html", {"form": form}, status=422 if form.is_bound else 200)


@require_POST
def sign_out_everywhere(request: Request) -> HttpResponse:
    people.sign_out_everywhere(request.user)
    logout(request)
    messages.success(request, "You are signed out on every device.", extra_tags="good")
    return signed_out()
