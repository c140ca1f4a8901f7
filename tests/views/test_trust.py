"""The page that walks a phone through trusting the workshop's authority: for everybody, and never with a secret."""

from datetime import UTC, datetime

import pytest
from cryptography import x509
from django.urls import reverse

from curelog.serving.authority import kept_authority

ANDROID = "Mozilla/5.0 (Linux; Android 14; K) AppleWebKit/537.36 Chrome/126.0 Mobile Safari/537.36"
IPHONE = (
    "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 Version/17.5 Safari/604.1"
)
MAC = "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 Version/17.5 Safari/605.1.15"
PAGE, FILE = "/trust/", "/trust/curelog.crt"


@pytest.fixture
def authority(settings, tmp_path):
    settings.LAN_PORT, settings.DATA_DIR = 8001, tmp_path
    return kept_authority(tmp_path, ["shed"], datetime.now(UTC))


def test_a_stranger_fetches_the_certificate_and_nothing_more(stranger, authority):
    answer = stranger.get(FILE)
    assert answer["Content-Type"] == "application/x-x509-ca-cert"
    # With it, Safari would file the certificate away instead of offering it.
    assert "Content-Disposition" not in answer
    assert x509.load_der_x509_certificate(answer.content) == authority.certificate


def test_the_page_tells_the_name_the_fingerprint_and_the_way_on(stranger, authority):
    html = stranger.get(PAGE, headers={"host": "localhost:8000"}).content.decode()
    assert authority.name in html
    for line in authority.fingerprint_lines():
        assert line in html
    assert f'href="{FILE}"' in html
    assert 'href="https://localhost:8001/"' in html
    assert f"{authority.certificate.not_valid_after_utc:%Y}" in html
    assert "PRIVATE" not in html
    assert "<script" not in html.split("</head>")[1]


@pytest.mark.parametrize(
    ("agent", "opened"),
    [(ANDROID, "Android"), (IPHONE, "iPhone and iPad"), (MAC, "Computers"), ("", "Computers")],
)
def test_the_section_of_the_phone_is_open_and_the_others_are_there(stranger, authority, agent, opened):
    html = stranger.get(PAGE, headers={"user-agent": agent}).content.decode()
    assert f'<details class="more" open><summary>{opened}</summary>' in html
    assert html.count('<details class="more"') == 3
    assert html.count(" open><summary>") == 1


def test_over_https_it_says_that_it_worked(stranger, authority):
    assert "You came here over HTTPS" in stranger.get(PAGE, secure=True).content.decode()
    assert "You came here over HTTPS" not in stranger.get(PAGE).content.decode()


def test_without_an_authority_it_says_how_to_get_one(stranger, settings):
    settings.LAN_PORT = 0
    assert "start --lan" in stranger.get(PAGE).content.decode()
    assert stranger.get(FILE).status_code == 404


def test_a_lost_authority_is_no_server_error(stranger, authority, settings):
    (settings.DATA_DIR / "lan-authority.key").unlink()
    assert stranger.get(PAGE).status_code == 200
    assert stranger.get(FILE).status_code == 404


def test_signing_in_in_the_clear_is_said_where_there_is_another_way(stranger, authority, settings):
    sign_in = reverse("sign_in")
    words = "crosses the network in the clear"
    settings.ALLOWED_HOSTS = ["shed.local", "localhost"]
    assert words in stranger.get(sign_in, headers={"host": "shed.local:8000"}).content.decode()
    assert words not in stranger.get(sign_in, headers={"host": "localhost:8000"}).content.decode()
    assert (
        words not in stranger.get(sign_in, headers={"host": "shed.local:8001"}, secure=True).content.decode()
    )
    settings.LAN_PORT = 0
    assert words not in stranger.get(sign_in, headers={"host": "shed.local:8000"}).content.decode()
