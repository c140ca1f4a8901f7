"""Inviting, joining, signing out everywhere, and removing a person."""

import hashlib
import secrets
from dataclasses import dataclass

from axes.models import AccessAttempt
from django.db import transaction
from django.utils import timezone

from curelog.actions.settings import change_workshop
from curelog.models import Invitation, Person, Workshop
from curelog.models.people import new_salt


class InvitationClosed(Exception):
    """The link is unknown, used, withdrawn or too old. Which of these is nobody's business."""


class LastOwner(Exception):
    """A workshop keeps at least one owner."""


@dataclass(frozen=True)
class Newcomer:
    name: str
    username: str
    password: str


def invite(role: str, by: Person | None) -> tuple[Invitation, str]:
    """The invitation and its raw token, which is given out once: only its hash is kept."""
    token = secrets.token_urlsafe(32)
    return Invitation.objects.create(token=hashed(token), role=role, made_by=by), token


def hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def open_invitation(token: str) -> Invitation | None:
    return Invitation.open_at(timezone.now()).filter(token=hashed(token)).first()


@transaction.atomic
def accept(token: str, newcomer: Newcomer) -> Person:
    """Uses the link up and makes its account, both or neither; of two who come at once, one."""
    now = timezone.now()
    invitation = Invitation.objects.filter(token=hashed(token)).first()
    if invitation is None or not Invitation.open_at(now).filter(pk=invitation.pk).update(used_at=now):
        raise InvitationClosed
    if invitation.made_by is None:
        # Every start prints a link until there is an owner; the others must not lie about in a terminal.
        Invitation.open_at(now).filter(made_by=None).update(used_at=now)
    return Person.objects.create_user(
        newcomer.username, password=newcomer.password, first_name=newcomer.name, role=invitation.role
    )


@transaction.atomic
def open_workshop(token: str, newcomer: Newcomer, workshop: Workshop, name: str, time_zone: str) -> Person:
    """The first owner names the workshop in the same breath."""
    person = accept(token, newcomer)
    change_workshop(workshop, {"name": name, "time_zone": time_zone})
    return person


def withdraw_invitation(invitation: Invitation) -> None:
    invitation.delete()


def rename(person: Person, name: str) -> None:
    person.first_name, person.last_name = name, ""
    person.save(update_fields=["first_name", "last_name"])


def change_password(person: Person, password: str) -> None:
    person.set_password(password)
    person.save(update_fields=["password"])


def sign_out_everywhere(person: Person) -> None:
    person.session_salt = new_salt()
    person.save(update_fields=["session_salt"])


@transaction.atomic
def remove(person: Person) -> None:
    """Erases the account and what is known of the person. What they told of loaves stays, told by nobody."""
    _keep_an_owner(person)
    Invitation.objects.filter(made_by=person).delete()
    AccessAttempt.objects.filter(username=person.username).delete()
    person.delete()


@transaction.atomic
def change_role(person: Person, role: str) -> None:
    """Who is an owner no longer has no links open with which others could become one."""
    if role != Person.Role.OWNER:
        _keep_an_owner(person)
        Invitation.objects.filter(made_by=person, used_at=None).delete()
    person.role = role
    person.save(update_fields=["role"])


def _keep_an_owner(person: Person) -> None:
    """Locked, so that two owners who put each other out do not leave a workshop without one."""
    owners = list(Person.objects.select_for_update().filter(role=Person.Role.OWNER).order_by("pk"))
    if owners == [person]:
        raise LastOwner
