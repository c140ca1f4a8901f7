import json
import os
import stat
import threading
from datetime import UTC, datetime

from py_vapid import Vapid02

from curelog.push.base64url import decoded
from curelog.push.signing import KEY_FILE, authorization, kept_key, public_text

NOW = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)


def claims_of(header):
    return json.loads(decoded(header.split("t=")[1].split(".")[1]))


def test_py_vapid_confirms_the_signature(tmp_path):
    header = authorization(
        kept_key(tmp_path), "https://push.example.net:8443/x/y", "mailto:a@example.org", NOW
    )
    # py_vapid wants the two parameters without the space that RFC 9110, 11.6.1 allows between them.
    assert Vapid02.verify(header.replace(", k=", ",k="))
    assert not Vapid02.verify(header.replace(", k=", ",k=").replace("t=eyJ0", "t=eyJ1"))


def test_the_token_speaks_to_one_service_for_less_than_a_day(tmp_path):
    claims = claims_of(
        authorization(kept_key(tmp_path), "https://push.example.net/x", "mailto:a@example.org", NOW)
    )
    assert claims["aud"] == "https://push.example.net"
    assert 0 < claims["exp"] - NOW.timestamp() <= 24 * 3600
    assert claims["sub"] == "mailto:a@example.org"


def test_the_key_stays_and_is_private(tmp_path):
    first = public_text(kept_key(tmp_path))
    assert public_text(kept_key(tmp_path)) == first
    assert len(decoded(first)) == 65
    assert stat.S_IMODE((tmp_path / KEY_FILE).stat().st_mode) == 0o600
    assert os.listdir(tmp_path) == [KEY_FILE]


def test_many_that_start_at_once_agree_on_one_key(tmp_path):
    found = []
    threads = [
        threading.Thread(target=lambda: found.append(public_text(kept_key(tmp_path)))) for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 8
    assert len(set(found)) == 1
