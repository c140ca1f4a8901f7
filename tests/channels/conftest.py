"""For each channel a stand-in of the other side, at the real boundary: sockets, not mocks."""

import json
import socket
from dataclasses import dataclass, field

import pytest
from aiosmtpd.controller import Controller
from py_vapid import Vapid02

from curelog.channels.mail import MailChannel
from curelog.channels.push import PushChannel
from curelog.models import Receiver
from tests.push.stand_in import Browser, PushService, is_loopback

SMTP = {
    "gone": "550 5.1.1 No such mailbox",
    "busy": "451 4.7.1 Try later",
    "refused": "550 5.7.1 Not wanted here",
}
HTTP = {"gone": (410, {}), "busy": (429, {"Retry-After": "90"}), "refused": (413, {})}


@dataclass
class Mailbox:
    """An SMTP server's handler: takes mail, or says what it was told to."""

    mail: list = field(default_factory=list)
    says: str = ""

    async def handle_DATA(self, server, session, envelope):
        if self.says and not self.says.startswith("550 5.1.1"):
            return self.says
        self.mail.append((envelope.rcpt_tos, envelope.content.decode("utf-8")))
        return "250 OK"

    async def handle_RCPT(self, server, session, envelope, address, options):
        if self.says.startswith("550 5.1.1"):
            return self.says
        envelope.rcpt_tos.append(address)
        return "250 OK"


class MailStand:
    def __init__(self, settings):
        self.box = Mailbox()
        self.server = Controller(self.box, hostname="127.0.0.1", port=free_port())
        self.server.start()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", self.server.port
        settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
        settings.DEFAULT_FROM_EMAIL = "curelog@example.org"
        self.channel = MailChannel()
        self.receiver = Receiver(
            pk=1, channel="mail", name="Post", address="a@example.org", origin="https://soap.example.org"
        )

    def answer(self, kind):
        self.box.says = SMTP[kind]

    def received(self):
        return [content for _, content in self.box.mail]

    def close(self):
        if not self.server.loop.is_closed():
            self.server.stop()


class PushStand:
    def __init__(self, folder):
        self.service, self.browser = PushService(folder), Browser()
        self.channel = PushChannel(may_connect=is_loopback, context=self.service.context)
        self.receiver = Receiver(
            pk=1,
            channel="push",
            name="Phone",
            address=self.service.endpoint,
            keys=self.browser.keys,
            origin="https://x",
        )

    def answer(self, kind):
        self.service.answers = [HTTP[kind]]

    def received(self):
        """Decrypted by http_ece, the signature confirmed by py_vapid: both of other makers."""
        for sent in self.service.received:
            assert Vapid02.verify(sent.headers["Authorization"].replace(", k=", ",k="))
        return [self.browser.read(sent.body).decode() for sent in self.service.received]

    def told(self):
        return [json.loads(text) for text in self.received()]

    def close(self):
        self.service.close()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def mail_stand(settings):
    stand = MailStand(settings)
    yield stand
    stand.close()


@pytest.fixture
def push_stand(tmp_path, settings):
    settings.DATA_DIR = tmp_path
    stand = PushStand(tmp_path)
    yield stand
    stand.close()


@pytest.fixture(params=["mail", "push"])
def stand(request):
    return request.getfixturevalue(f"{request.param}_stand")
