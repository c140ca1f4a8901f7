"""`manage.py start --lan`, as a whole: a real process, HTTPS beside plain HTTP, certificates that are renewed."""

import http.client
import re
import socket
import ssl
import stat
import time
from contextlib import closing, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from curelog.serving import certificates
from curelog.serving.authority import read_authority
from curelog.serving.leaf import LIFETIME, renew_leaf
from tests.serving.made import kept_leaf
from tests.started import PATIENCE_S, Started, failure, started

Answer = tuple[int, http.client.HTTPMessage]


def trusting(server: Started) -> ssl.SSLContext:
    """A phone that fetched the certificate over plain HTTP and trusts nothing else."""
    status, der = server.get("/trust/curelog.crt")
    assert status == 200
    return ssl.create_default_context(cadata=ssl.DER_cert_to_PEM_cert(der))


def asked(server: Started, trust: ssl.SSLContext, path: str, host: str = "localhost") -> Answer:
    """Over HTTPS, by the name `host`, which the certificate must hold. Its worker may still be waking."""
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            return answered(
                http.client.HTTPSConnection(host, server.port + 1, timeout=30, context=trust), path
            )
        except ConnectionError:
            assert time.monotonic() < until
            time.sleep(0.1)


def answered(door: http.client.HTTPConnection, path: str) -> Answer:
    with closing(door):
        door.request("GET", path)
        with door.getresponse() as answer:
            answer.read()
            return answer.status, answer.headers


def serial_served(port: int) -> int:
    pem = ssl.get_server_certificate(("127.0.0.1", port), timeout=30)
    return x509.load_pem_x509_certificate(pem.encode()).serial_number


def test_phones_get_https_with_a_certificate_that_they_can_trust(tmp_path: Path) -> None:
    with started(tmp_path / "data", "--lan") as server:
        trust = trusting(server)
        status, headers = asked(server, trust, "/sign-in/")
        assert status == 200
        assert headers["Set-Cookie"].startswith("__Host-csrftoken=")
        assert "Secure" in headers["Set-Cookie"]
        # It would shut the plain door.
        assert "Strict-Transport-Security" not in headers
        assert asked(server, trust, "/sign-in/", "127.0.0.1")[0] == 200
        with pytest.raises(ssl.SSLCertVerificationError):
            asked(server, ssl.create_default_context(), "/sign-in/")

        status, page = server.get("/trust/")
        assert (status, f"https://localhost:{server.port + 1}/" in page.decode()) == (200, True)
        authority = read_authority(tmp_path / "data")
        for line in authority.fingerprint_lines():
            assert line in server.out
            assert line in page.decode()
        assert re.search(rf"1\. Once for each phone +http://\S+:{server.port}/trust/\n", server.out)
        assert re.search(rf"2\. From then on +https://\S+:{server.port + 1}/\n", server.out)
        for kept in ("lan-authority.key", "lan-leaf.pem"):
            assert stat.S_IMODE((tmp_path / "data" / kept).stat().st_mode) == 0o600

        assert server.interrupt() == 0
        assert server.err == ""
        assert server.leaves_nothing()


def test_the_plain_door_beside_it_is_as_it_was(tmp_path: Path) -> None:
    with started(tmp_path, "--lan") as server:
        status, headers = answered(
            http.client.HTTPConnection("127.0.0.1", server.port, timeout=30), "/sign-in/"
        )
        assert status == 200
        assert headers["Set-Cookie"].startswith("csrftoken=")
        assert "Secure" not in headers["Set-Cookie"]


def test_a_certificate_near_its_end_is_renewed_while_it_serves(tmp_path: Path) -> None:
    with started(tmp_path, "--lan", "--host", "127.0.0.1") as server:
        trust = trusting(server)
        asked(server, trust, "/sign-in/")
        first = serial_served(server.port + 1)
        assert first == kept_leaf(tmp_path).serial_number
        # As if it had been made a year ago.
        long_ago = datetime.now(UTC) - LIFETIME + timedelta(days=20)
        authority = read_authority(tmp_path)
        (tmp_path / "lan-leaf.pem").unlink()
        assert renew_leaf(tmp_path, authority, ["localhost"], long_ago)
        ending = kept_leaf(tmp_path)
        assert ending.not_valid_after_utc - datetime.now(UTC) < certificates.RENEWED_BEFORE

        # For some seconds the old worker and the new one share the port; on a busy machine neither has it for a moment.
        until = time.monotonic() + PATIENCE_S
        seen: set[int] = set()
        while seen != {kept_leaf(tmp_path).serial_number}:
            assert time.monotonic() < until
            time.sleep(0.2)
            with suppress(ConnectionRefusedError):
                seen = {serial_served(server.port + 1) for _ in range(10)}
        renewed = kept_leaf(tmp_path)
        assert renewed.serial_number not in (first, ending.serial_number)
        assert renewed.not_valid_after_utc - datetime.now(UTC) > timedelta(days=390)
        # Phones that trusted the authority before notice nothing, at neither door.
        assert asked(server, trust, "/sign-in/")[0] == 200
        wait_until_plain(server)
        assert server.interrupt() == 0
        assert server.err == ""
        assert server.leaves_nothing()


def wait_until_plain(server: Started) -> None:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        try:
            assert server.get("/sign-in/")[0] == 200
            return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the plain door stayed shut")


def test_a_start_that_is_killed_keeps_no_port(tmp_path: Path) -> None:
    with started(tmp_path, "--lan", "--host", "127.0.0.1") as server:
        assert asked(server, trusting(server), "/sign-in/")[0] == 200
        server.process.kill()
        server.process.wait()
        assert server.leaves_nothing()


def test_a_second_start_keeps_what_phones_trust(tmp_path: Path) -> None:
    with started(tmp_path, "--lan", "--host", "127.0.0.1") as server:
        kept = (tmp_path / "lan-authority.key").read_bytes(), (tmp_path / "lan-leaf.pem").read_bytes()
        assert server.interrupt() == 0
    with started(tmp_path, "--lan", "--host", "127.0.0.1") as server:
        assert kept == (
            (tmp_path / "lan-authority.key").read_bytes(),
            (tmp_path / "lan-leaf.pem").read_bytes(),
        )
        assert asked(server, trusting(server), "/sign-in/")[0] == 200


def test_a_broken_authority_is_said_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "lan-authority.key").write_text("not a key")
    (tmp_path / "secret.key").write_text("k" * 50)
    told = failure(tmp_path, "--lan", "--host", "127.0.0.1")
    assert told.count("\n") == 1
    assert told.startswith(f"The certificate authority {tmp_path / 'lan-authority.key'} cannot be read")


def test_the_next_port_in_use_makes_nothing(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        told = failure(tmp_path / "data", "--lan", "--host", "127.0.0.1", "--port", str(taken - 1))
    assert told.startswith(f"Port {taken} is in use")
    assert not (tmp_path / "data").exists()


def test_it_is_not_for_behind_a_proxy(tmp_path: Path) -> None:
    told = failure(tmp_path / "data", "--lan", CURELOG_HTTPS="1", CURELOG_HOSTS="soap.example")
    assert "leave them out with --lan" in told
    assert not (tmp_path / "data").exists()
