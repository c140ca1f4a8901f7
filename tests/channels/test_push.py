import pytest

from curelog.channels.message import Message, Result
from curelog.channels.push import PushChannel
from tests.channels.test_contract import MESSAGE


def test_what_the_browser_reads(push_stand):
    push_stand.channel.send(push_stand.receiver, MESSAGE)
    assert push_stand.told() == [
        {
            "title": "Cut: 26-014",
            "body": "26-014: cut from Tue 18:15, by Tue 23:00",
            "url": "/loaves/1/cut/",
            "tag": "tagtagtag",
            "answer": "word",
            "opens": False,
        }
    ]


def test_the_headers_of_the_standard(push_stand):
    push_stand.channel.send(
        push_stand.receiver, Message("T", ("x",), "/", "a" * 40, is_urgent=True, keep_s=900)
    )
    headers = push_stand.service.received[0].headers
    assert headers["Content-Encoding"] == "aes128gcm"  # RFC 8291, 4
    assert headers["TTL"] == "900"  # RFC 8030, 5.2
    assert headers["Urgency"] == "high"  # RFC 8030, 5.3
    assert headers["Topic"] == "a" * 32  # RFC 8030, 5.4: 32 characters at most
    assert headers["Authorization"].startswith("vapid t=")  # RFC 8292, 3


@pytest.mark.parametrize(
    ("status", "result"),
    [
        (200, Result.SENT),
        (201, Result.SENT),
        (202, Result.SENT),
        (301, Result.REFUSED),
        (400, Result.REFUSED),
        (403, Result.REFUSED),
        (404, Result.GONE),
        (410, Result.GONE),
        (413, Result.REFUSED),
        (429, Result.LATER),
        (500, Result.LATER),
        (503, Result.LATER),
    ],
)
def test_each_status_of_the_service(push_stand, status, result):
    push_stand.service.answers = [(status, {"Location": "https://localhost/elsewhere"})]
    assert push_stand.channel.send(push_stand.receiver, MESSAGE).result is result
    assert len(push_stand.service.received) == 1


def test_retry_after_is_heeded(push_stand):
    push_stand.service.answers = [(503, {"Retry-After": "300"})]
    assert push_stand.channel.send(push_stand.receiver, MESSAGE).wait_s == 300


def test_the_production_channel_does_not_send_to_this_machine(push_stand):
    outcome = PushChannel().send(push_stand.receiver, MESSAGE)
    assert outcome.result is Result.LATER
    assert push_stand.service.received == []


def test_a_broken_key_ends_the_subscription(push_stand):
    push_stand.receiver.keys = {"p256dh": "AAAA", "auth": "AAAA"}
    assert push_stand.channel.send(push_stand.receiver, MESSAGE).result is Result.GONE


def test_a_long_list_still_fits(push_stand):
    lines = tuple(f"26-{n:03d}: cut from Tue 18:15, by Tue 23:00" for n in range(500))
    push_stand.channel.send(push_stand.receiver, Message("Cut", lines, "/", "tag", "w" * 500))
    assert push_stand.told()[0]["body"].endswith("and 492 more")
