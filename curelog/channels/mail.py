"""E-mail through the server of CURELOG_MAIL_*: plain text with a link."""

import smtplib
from contextlib import closing
from email.utils import parseaddr
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from curelog.channels.message import SENT, Channel, Message, Outcome, Result
from curelog.models import Receiver

FOOT = "You are told this because you asked curelog to. Change it there under the bell: {address}"
# SMTP (RFC 5321, 4.2.1): a code that begins with 5 is final, with 4 passing.
FINAL = 500
NO_SUCH_MAILBOX = (550, 551, 553)
# Enhanced codes (RFC 3463, 3.2) that begin so speak of the address, others of policy or content.
OF_THE_ADDRESS = "5.1."


class MailChannel(Channel):
    def send(self, receiver: Receiver, message: Message) -> Outcome:
        connection = get_connection()
        try:
            with closing(connection):
                compose(receiver, message, connection).send()
        except smtplib.SMTPRecipientsRefused as error:
            code, words = next(iter(error.recipients.values()))
            return refused(code, words)
        except smtplib.SMTPAuthenticationError:
            return Outcome(Result.LATER, "The mail server does not take the user name and password.")
        except smtplib.SMTPResponseException as error:
            return refused(error.smtp_code, error.smtp_error)
        except (OSError, smtplib.SMTPException) as error:
            return Outcome(Result.LATER, f"The mail server could not be reached ({type(error).__name__}).")
        return SENT


def is_set_up() -> bool:
    """Whether there is a mail server at all."""
    return bool(settings.EMAIL_HOST) or "smtp" not in settings.EMAIL_BACKEND


def compose(receiver: Receiver, message: Message, connection: Any) -> EmailMessage:
    foot = FOOT.format(address=f"{receiver.origin}/reminders/")
    return EmailMessage(
        subject=message.title,
        body=f"{message.text}\n\n{receiver.origin}{message.path}\n\n-- \n{foot}\n",
        to=[receiver.address],
        # The same for a repeat, so that a mail program can tell the two are one.
        headers={
            "Message-ID": f"<{message.tag}.{receiver.pk}@{own_domain()}>",
            "Auto-Submitted": "auto-generated",
        },
        connection=connection,
    )


def own_domain() -> str:
    return parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"


def refused(code: int, words: bytes | str) -> Outcome:
    said = words.decode(errors="replace") if isinstance(words, bytes) else str(words)
    why = f"The mail server said {code}: {said}"[:200]
    is_policy = said[:2] == "5." and not said.startswith(OF_THE_ADDRESS)
    if code in NO_SUCH_MAILBOX and not is_policy:
        return Outcome(Result.GONE, why)
    return Outcome(Result.REFUSED if code >= FINAL else Result.LATER, why)
