"""Notifications through the push service of the person's own browser."""

import json
import logging
import ssl
from collections.abc import Mapping
from dataclasses import dataclass, field
from http.client import HTTPException

from django.conf import settings
from django.utils import timezone

from curelog.channels.message import SENT, Channel, Message, Outcome, Result
from curelog.models import Receiver
from curelog.push import retry_after
from curelog.push.addresses import AddressCheck, Forbidden, is_public
from curelog.push.base64url import decoded
from curelog.push.encryption import encrypt
from curelog.push.posting import Answer, post
from curelog.push.signing import authorization, kept_key

logger = logging.getLogger(__name__)

# RFC 8030, 7.3: the subscription is gone.
GONE = (404, 410)
PASSING = (408, 425, 429)
# Only so much of the list fits under the lock screen's fold and into one message.
MOST_LINES = 8


@dataclass(frozen=True)
class PushChannel(Channel):
    """`may_connect`, `context`: only tests, whose push service is on this machine, hand in others."""

    may_connect: AddressCheck = is_public
    context: ssl.SSLContext = field(default_factory=ssl.create_default_context)

    def send(self, receiver: Receiver, message: Message) -> Outcome:
        try:
            body = encrypt(payload(message), decoded(receiver.keys["p256dh"]), decoded(receiver.keys["auth"]))
            headers = headers_of(receiver, message)
            return outcome(post(receiver.address, body, headers, self.may_connect, self.context))
        except (KeyError, ValueError):
            return Outcome(Result.GONE, "The browser's key cannot be used.")
        except Forbidden as why:
            # Not for good: a name server that lies for a while must not cost a subscription.
            return Outcome(Result.LATER, str(why))
        except (OSError, HTTPException) as error:
            return Outcome(Result.LATER, f"The push service could not be reached ({type(error).__name__}).")


def payload(message: Message) -> bytes:
    lines = message.lines[:MOST_LINES]
    if len(message.lines) > MOST_LINES:
        lines = (*lines, f"and {len(message.lines) - MOST_LINES} more")
    told = {"title": message.title, "body": "\n".join(lines), "url": message.path, "tag": message.tag}
    answer = {"answer": message.answer, "opens": message.is_to_note}
    return json.dumps(told | answer, ensure_ascii=False).encode()


def headers_of(receiver: Receiver, message: Message) -> Mapping[str, str]:
    """Topic: a repeat replaces the first while both still wait at the service (RFC 8030, 5.4)."""
    key = kept_key(settings.DATA_DIR)
    return {
        "Authorization": authorization(key, receiver.address, settings.PUSH_CONTACT, timezone.now()),
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
        "TTL": str(message.keep_s),
        "Urgency": "high" if message.is_urgent else "normal",
        "Topic": message.tag[:32],
    }


def outcome(answer: Answer) -> Outcome:
    if 200 <= answer.status < 300:
        return SENT
    why = f"The push service answered {answer.status}."
    if answer.status in GONE:
        return Outcome(Result.GONE, f"{why} The browser has let go of its subscription.")
    if answer.status in PASSING or answer.status >= 500:
        return Outcome(Result.LATER, why, retry_after.seconds(answer.retry_after, timezone.now()))
    return Outcome(Result.REFUSED, why)
