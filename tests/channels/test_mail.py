from email import message_from_string, policy

from tests.channels.test_contract import MESSAGE


def test_plain_text_with_a_link_that_opens_the_act(mail_stand):
    mail_stand.channel.send(mail_stand.receiver, MESSAGE)
    mail = message_from_string(mail_stand.received()[0], policy=policy.default)
    assert mail.get_content_type() == "text/plain"
    assert mail["Subject"] == "Cut: 26-014"
    assert mail["To"] == "a@example.org"
    assert mail["Auto-Submitted"] == "auto-generated"  # RFC 3834, 5: no out-of-office comes back
    assert mail["Message-ID"] == "<tagtagtag.1@example.org>"
    assert "https://soap.example.org/loaves/1/cut/" in mail.get_content()
    assert "https://soap.example.org/reminders/" in mail.get_content()
    assert "word" not in mail.get_content()


def test_a_wrong_password_is_for_later(mail_stand, settings):
    """The server of the test knows no signing in: it says so as a refusal."""
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "a", "b"
    assert mail_stand.channel.send(mail_stand.receiver, MESSAGE).result == "later"
