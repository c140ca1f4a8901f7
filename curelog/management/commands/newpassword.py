"""`manage.py newpassword NAME`: a link that sets a new password, for the owner who forgot it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.urls import reverse

from curelog.actions.passwords import token_for
from curelog.models import Person


class Command(BaseCommand):
    help = "Prints a link that sets a new password, once, within a day. For the owner; helpers ask an owner."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="the name to sign in with")
        parser.add_argument(
            "--address", default="http://localhost:8000", help="where curelog is opened (%(default)s)"
        )

    def handle(self, *args: Any, name: str, address: str, **options: Any) -> None:
        person = Person.objects.filter(username=Person.normalize_username(name), is_active=True).first()
        if person is None:
            known = ", ".join(Person.objects.order_by("username").values_list("username", flat=True))
            raise CommandError(f"Nobody signs in as {name}. Known: {known or 'nobody yet'}.")
        path = reverse("new_password", args=[person.pk, token_for(person)])
        self.stdout.write(f"{address.rstrip('/')}{path}")
