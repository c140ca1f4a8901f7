"""Certificates held against two verifiers that are not ours: Python's ssl, and OpenSSL's command where it is there."""

import shutil
import ssl
import stat
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.hashes import SHA256

from curelog.serving import certificates
from curelog.serving.authority import Authority, kept_authority, make_authority
from curelog.serving.leaf import renew_leaf
from tests.serving.made import HOSTS, NOW, kept_leaf, openssl_says, public_file

FILE = "lan-leaf.pem"


@pytest.fixture
def authority(tmp_path: Path) -> Authority:
    return kept_authority(tmp_path, HOSTS, NOW)


def shakes_hands(trusted: Path, served: Path, host: str) -> bool:
    """A whole handshake in memory, the server with our file, the client with the fetched authority alone."""
    server_context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server_context.load_cert_chain(served)
    client_context = ssl.create_default_context(cafile=str(trusted))
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = client_context.wrap_bio(to_client, to_server, server_hostname=host)
    server = server_context.wrap_bio(to_server, to_client, server_side=True)
    for side in (client, server, client):
        try:
            side.do_handshake()
        except ssl.SSLWantReadError:
            continue
        except ssl.SSLCertVerificationError:
            return False
    return client.version() == "TLSv1.3"


def test_browsers_take_it_for_every_name_and_for_no_other(tmp_path: Path) -> None:
    # A handshake looks at the real clock.
    now = datetime.now(NOW.tzinfo)
    known = kept_authority(tmp_path, HOSTS, now)
    assert renew_leaf(tmp_path, known, HOSTS, now)
    trusted = public_file(tmp_path, known)
    for host in HOSTS:
        assert shakes_hands(trusted, tmp_path / FILE, host.strip("[]")), host
    for host in ("bank.example", "other.local", "192.168.7.10"):
        assert not shakes_hands(trusted, tmp_path / FILE, host), host
    (tmp_path / "stranger").mkdir()
    stranger = make_authority(tmp_path / "stranger", HOSTS, now)
    assert not shakes_hands(public_file(tmp_path, stranger), tmp_path / FILE, "localhost")


@pytest.mark.skipif(not shutil.which("openssl"), reason="no openssl here")
def test_openssl_takes_it_strictly(tmp_path: Path, authority: Authority) -> None:
    renew_leaf(tmp_path, authority, HOSTS, NOW)
    told = public_file(tmp_path, authority), tmp_path / FILE
    for names in (("-verify_hostname", "shed.local"), ("-verify_ip", "192.168.7.9"), ("-verify_ip", "::1")):
        assert openssl_says(*told, NOW, *names).endswith(": OK\n")
    assert "hostname mismatch" in openssl_says(*told, NOW, "-verify_hostname", "bank.example")
    assert "expired" in openssl_says(*told, NOW + timedelta(days=397))


@pytest.mark.skipif(not shutil.which("openssl"), reason="no openssl here")
def test_even_who_has_the_key_cannot_vouch_for_a_bank(tmp_path: Path, authority: Authority) -> None:
    key = certificates.new_key()
    forged = certificates.begun(certificates.distinguished("x"), authority.certificate.subject, key, NOW)
    forged = forged.not_valid_after(NOW + timedelta(days=30)).add_extension(authority.key_identifier(), False)
    for name, verdict in (("shed.local", ": OK"), ("bank.example", "permitted subtree violation")):
        signed = forged.add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), False)
        (tmp_path / "forged").write_bytes(certificates.pem_of(key, signed.sign(authority.key, SHA256())))
        assert verdict in openssl_says(public_file(tmp_path, authority), tmp_path / "forged", NOW)


def test_it_lives_no_longer_than_browsers_allow_and_is_private(tmp_path: Path, authority: Authority) -> None:
    renew_leaf(tmp_path, authority, HOSTS, NOW)
    leaf = kept_leaf(tmp_path)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    assert NOW - leaf.not_valid_before_utc >= timedelta(hours=12)
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600
    usage = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [x509.ExtendedKeyUsageOID.SERVER_AUTH]


def test_it_is_renewed_in_its_last_month_and_not_before(tmp_path: Path, authority: Authority) -> None:
    assert renew_leaf(tmp_path, authority, HOSTS, NOW)
    first = kept_leaf(tmp_path)
    ends = first.not_valid_after_utc
    assert not renew_leaf(tmp_path, authority, HOSTS, ends - timedelta(days=31))
    assert kept_leaf(tmp_path) == first
    assert renew_leaf(tmp_path, authority, HOSTS, ends - timedelta(days=29))
    second = kept_leaf(tmp_path)
    assert second.not_valid_after_utc > ends + timedelta(days=300)
    assert second.public_key() != first.public_key()


def test_a_new_address_asks_for_a_new_one_and_a_lost_one_does_not(
    tmp_path: Path, authority: Authority
) -> None:
    renew_leaf(tmp_path, authority, HOSTS, NOW)
    assert not renew_leaf(tmp_path, authority, HOSTS[:-1], NOW)
    assert renew_leaf(tmp_path, authority, [*HOSTS, "192.168.7.55"], NOW)
    named = kept_leaf(tmp_path).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert "192.168.7.55" in [str(address) for address in named.get_values_for_type(x509.IPAddress)]


def test_what_the_authority_may_not_vouch_for_is_left_out(tmp_path: Path, authority: Authority) -> None:
    assert renew_leaf(tmp_path, authority, [*HOSTS, "soap.example", "8.8.8.8"], NOW)
    assert not renew_leaf(tmp_path, authority, [*HOSTS, "soap.example", "8.8.8.8"], NOW)
    named = kept_leaf(tmp_path).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert named.get_values_for_type(x509.DNSName) == ["localhost", "shed", "shed.local"]


def test_a_broken_one_a_strangers_or_one_from_the_future_is_made_anew(
    tmp_path: Path, authority: Authority
) -> None:
    (tmp_path / "other").mkdir()
    stranger = make_authority(tmp_path / "other", HOSTS, NOW)
    renew_leaf(tmp_path / "other", stranger, HOSTS, NOW)
    strangers = (tmp_path / "other" / FILE).read_bytes()
    renew_leaf(tmp_path, authority, HOSTS, NOW + timedelta(days=60))
    from_the_future = (tmp_path / FILE).read_bytes()
    for content in (b"", from_the_future[:-90], strangers, from_the_future):
        (tmp_path / FILE).write_bytes(content)
        assert renew_leaf(tmp_path, authority, HOSTS, NOW)
        assert not renew_leaf(tmp_path, authority, HOSTS, NOW)


def test_it_never_outlives_its_authority(tmp_path: Path, authority: Authority) -> None:
    ends = authority.certificate.not_valid_after_utc
    renew_leaf(tmp_path, authority, HOSTS, ends - timedelta(days=100))
    assert kept_leaf(tmp_path).not_valid_after_utc == ends
    assert not renew_leaf(tmp_path, authority, HOSTS, ends - timedelta(days=99))
