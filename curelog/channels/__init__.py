"""The ways to reach a person: notification and e-mail, behind one signature."""

from collections.abc import Mapping

from curelog.channels.mail import MailChannel
from curelog.channels.message import Channel
from curelog.channels.push import PushChannel
from curelog.models import Receiver


def channels() -> Mapping[str, Channel]:
    return {Receiver.Channel.PUSH: PushChannel(), Receiver.Channel.MAIL: MailChannel()}
