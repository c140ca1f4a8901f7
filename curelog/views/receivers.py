"""Where a person is told: browsers, mailboxes, the calendar's address."""

import json

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from curelog.actions import reminding
from curelog.channels import channels
from curelog.channels.mail import is_set_up
from curelog.channels.message import Message, Result
from curelog.forms.reminders import MailboxForm, ReceiverForm
from curelog.models import FeedAddress, Receiver
from curelog.push.addresses import Forbidden
from curelog.push.signing import kept_key, public_text
from curelog.push.subscribing import BadSubscription, checked
from curelog.views.access import Request

MOST_BYTES = 8000
TEST = Message("Test", ("curelog reaches you here.",), "/reminders/", "test")


@never_cache
def receivers(request: Request) -> HttpResponse:
    """Adding a mailbox is the page's own form."""
    form = MailboxForm(
        request.POST or None, workshop=request.workshop, initial={"address": request.user.email}
    )
    if form.is_valid():
        reminding.add_mailbox(request.user, form.cleaned_data["address"], origin(request))
        messages.success(request, "Mail goes there from now on. Try it with the test.", extra_tags="good")
        return redirect("receivers")
    feed = FeedAddress.objects.get_or_create(person=request.user)[0]
    context = {
        "form": form,
        "receivers": Receiver.objects.filter(person=request.user).order_by("closed_at", "pk"),
        "public_key": public_text(kept_key(settings.DATA_DIR)),
        "has_mail": is_set_up(),
        "feed_address": request.build_absolute_uri(
            reverse("feed", args=[f"{request.user.pk}-{feed.secret}"])
        ),
        "feed": feed,
    }
    return render(request, "reminders/receivers.html", context, status=422 if form.is_bound else 200)


def origin(request: Request) -> str:
    return request.build_absolute_uri("/").rstrip("/")


@never_cache
@require_http_methods(["GET", "POST"])
def subscribe(request: Request) -> HttpResponse:
    """What the browser's own subscription says, as JSON. GET gives what is needed for that where there is no page."""
    if request.method == "GET":
        public_key = public_text(kept_key(settings.DATA_DIR))
        return JsonResponse({"csrf": get_token(request), "publicKey": public_key})
    try:
        told = json.loads(request.body[:MOST_BYTES])
        endpoint, keys = checked(told)
    except (BadSubscription, Forbidden, ValueError, RecursionError) as why:
        return JsonResponse({"error": str(why)}, status=422)
    name = str(told.get("name") or "")[:60]
    reminding.move_browser(request.user, str(told.get("replaces") or ""), endpoint)
    receiver = reminding.add_browser(request.user, name, endpoint, keys, origin(request))
    return JsonResponse({"url": reverse("receiver", args=[receiver.pk])}, status=201)


def mine(request: Request, pk: int) -> Receiver:
    return get_object_or_404(Receiver, pk=pk, person=request.user)


def receiver(request: Request, pk: int) -> HttpResponse:
    known = mine(request, pk)
    form = ReceiverForm(request.POST or None, workshop=request.workshop, receiver=known)
    if form.is_valid():
        reminding.choose(known, form.cleaned_data["name"], form.cleaned_data["kinds"])
        messages.success(request, f"{known.name} is kept.", extra_tags="good")
        return redirect("receivers")
    context = {"form": form, "receiver": known}
    return render(request, "reminders/receiver.html", context, status=422 if form.is_bound else 200)


@require_POST
def test(request: Request, pk: int) -> HttpResponse:
    """Sent while the person waits, so that the answer is the true one."""
    known = mine(request, pk)
    outcome = channels()[known.channel].send(known, TEST)
    if outcome.result is Result.SENT:
        messages.success(request, f"A test is on its way to {known.name}.", extra_tags="good")
    else:
        messages.error(request, f"The test did not go out. {outcome.why}", extra_tags="bad")
    return redirect("receivers")


@require_POST
def remove(request: Request, pk: int) -> HttpResponse:
    known = mine(request, pk)
    reminding.remove(known)
    messages.success(request, f"{known.name} is no longer told anything.", extra_tags="good")
    return redirect("receivers")


@require_POST
def renew_feed(request: Request) -> HttpResponse:
    reminding.renew_feed(request.user)
    messages.success(
        request, "The calendar has a new address; the old one no longer opens.", extra_tags="good"
    )
    return redirect("receivers")
