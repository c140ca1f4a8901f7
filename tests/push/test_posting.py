import socket
import ssl
import threading
import time
from contextlib import suppress
from http.client import HTTPException

import pytest

from curelog.push import posting
from curelog.push.addresses import Forbidden, is_public
from curelog.push.posting import MOST_READ_BYTES, post
from curelog.push.retry_after import seconds
from tests.push.stand_in import is_loopback
from tests.push.test_signing import NOW


def send(service, url=None, check=is_loopback, context=None):
    return post(url or service.endpoint, b"body", {"TTL": "60"}, check, context or service.context)


def test_it_posts_the_body_and_reads_the_answer(service):
    service.answers = [(429, {"Retry-After": "90"})]
    answer = send(service)
    assert (answer.status, answer.retry_after) == (429, "90")
    assert [(sent.path, sent.body, sent.headers["TTL"]) for sent in service.received] == [
        ("/push/abc", b"body", "60")
    ]


def test_in_production_this_machine_is_not_gone_to(service):
    with pytest.raises(Forbidden):
        send(service, check=is_public)
    assert service.received == []


def test_a_redirect_is_not_followed(service):
    service.answers = [(307, {"Location": service.endpoint + "/inside"})]
    assert send(service).status == 307
    assert len(service.received) == 1


def test_the_connection_goes_to_the_address_that_was_checked(service, monkeypatch):
    """A name server that says another thing each time: asked once only."""
    asked = []
    real = socket.getaddrinfo

    def turncoat(host, *args, **kwargs):
        asked.append(host)
        return real("127.0.0.1" if len(asked) == 1 else "127.0.0.2", *args, **kwargs)

    monkeypatch.setattr(
        posting, "resolved", lambda parts, check: turncoat(parts.hostname, parts.port)[0][4][0]
    )
    assert send(service).status == 201
    assert asked == ["localhost"]


def test_another_hosts_certificate_is_not_taken(service):
    with pytest.raises(ssl.SSLError):
        send(service, context=ssl.create_default_context())


def test_of_an_endless_answer_only_the_beginning_is_read(service):
    def pour(handler):
        handler.send_response(500)
        handler.send_header("Content-Length", str(10_000_000))
        handler.end_headers()
        handler.wfile.write(b"x" * 100_000)

    service.hooks = [pour]
    assert len(send(service).text) == MOST_READ_BYTES


def dripping(beginning, stop):
    def drip(handler):
        with suppress(OSError):
            handler.wfile.write(beginning)
            while not stop.wait(0.1):
                handler.wfile.write(b"1")

    return drip


@pytest.mark.parametrize("beginning", [b"HTTP/1.", b"HTTP/1.1 201 Created\r\nX-Slow: "])
def test_an_answer_that_drips_is_cut_off(service, monkeypatch, beginning):
    """A status that came whole counts; one that never came is a failure."""
    monkeypatch.setattr(posting, "ALL_S", 0.5)
    stop = threading.Event()
    service.hooks = [dripping(beginning, stop)]
    began = time.monotonic()
    try:
        assert send(service).status == 201
        assert b"201" in beginning
    except (OSError, HTTPException):
        assert b"201" not in beginning
    stop.set()
    assert time.monotonic() - began < 3


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("120", 120),
        ("", 0),
        ("soon", 0),
        ("-5", 0),
        ("99999999999999", 86400),
        ("Fri, 01 May 2026 12:02:00 GMT", 120),
        ("Fri, 01 May 2026 11:00:00 GMT", 0),
        ("Mon, 01 Jun 2026 12:00:00 GMT", 86400),
    ],
)
def test_retry_after_as_seconds_or_date(value, expected):
    assert seconds(value, NOW) == expected
