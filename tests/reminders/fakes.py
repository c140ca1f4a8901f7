"""A channel that remembers instead of sending, and people with somewhere to be told."""

from curelog.channels.message import SENT
from curelog.models import Person, Receiver


class Recorder:
    """`outcomes`: for the next messages; then all are sent. `hook` is called first and may break off."""

    def __init__(self):
        self.messages, self.outcomes, self.hook = [], [], None

    def send(self, receiver, message):
        if self.hook:
            self.hook()
        self.messages.append((receiver.name, message))
        return self.outcomes.pop(0) if self.outcomes else SENT

    @property
    def lines(self):
        return [line for _, message in self.messages for line in message.lines]


def make_receiver(name="Phone", person="olga", channel="mail", **fields):
    person = Person.objects.get_or_create(username=person, defaults={"first_name": person.title()})[0]
    return Receiver.objects.create(
        person=person,
        channel=channel,
        name=name,
        address=f"{name}@example.org",
        origin="https://soap",
        **fields,
    )
