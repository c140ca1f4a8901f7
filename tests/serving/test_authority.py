import stat
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1

from curelog.backup.archive import MEMBER_NAME
from curelog.serving import certificates
from curelog.serving.authority import kept_authority, read_authority
from curelog.serving.failure import CannotStart
from tests.serving.made import HOSTS, NOW

FILE = "lan-authority.key"


def test_it_is_made_once_and_its_key_is_private(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.umask", lambda mask: pytest.fail("other files would be made with it"))
    made = kept_authority(tmp_path, HOSTS, NOW)
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir()] == [FILE]
    again = kept_authority(tmp_path, ["elsewhere"], NOW + timedelta(days=3000))
    assert again.certificate == made.certificate
    assert again.key.private_numbers() == made.key.private_numbers()


def test_it_is_what_phones_ask_of_an_authority(tmp_path: Path) -> None:
    certificate = kept_authority(tmp_path, HOSTS, NOW).certificate
    extensions = certificate.extensions
    basic = extensions.get_extension_for_class(x509.BasicConstraints)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    usage = extensions.get_extension_for_class(x509.KeyUsage)
    assert usage.critical
    assert (usage.value.key_cert_sign, usage.value.crl_sign, usage.value.digital_signature) == (
        True,
        True,
        False,
    )
    assert extensions.get_extension_for_class(x509.NameConstraints).critical
    key = certificate.public_key()
    own = extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    assert own == x509.SubjectKeyIdentifier.from_public_key(key)
    assert isinstance(key.curve, SECP256R1)
    lasts = certificate.not_valid_after_utc - NOW
    assert timedelta(days=9.9 * 365) < lasts < timedelta(days=10.1 * 365)
    assert NOW - certificate.not_valid_before_utc >= timedelta(hours=12)


def test_at_its_end_there_is_another_one(tmp_path: Path) -> None:
    first = kept_authority(tmp_path, HOSTS, NOW)
    ends = first.certificate.not_valid_after_utc
    assert kept_authority(tmp_path, HOSTS, ends - timedelta(days=31)).certificate == first.certificate
    second = kept_authority(tmp_path, HOSTS, ends - timedelta(days=29))
    assert second.certificate.public_key() != first.certificate.public_key()
    assert second.certificate.not_valid_after_utc > ends + timedelta(days=3000)


def test_it_travels_in_a_backup() -> None:
    """Phones trust the machine that a workshop moves to as they did the old one."""
    assert MEMBER_NAME.fullmatch(FILE)


def test_a_clock_that_went_back_is_named(tmp_path: Path) -> None:
    kept_authority(tmp_path, HOSTS, NOW)
    with pytest.raises(CannotStart, match="clock of this machine says 1 January 2020"):
        kept_authority(tmp_path, HOSTS, NOW.replace(year=2020, month=1, day=1))


def test_what_cannot_be_read_is_said_and_left_alone(tmp_path: Path) -> None:
    other = kept_authority(tmp_path, HOSTS, NOW)
    whole = (tmp_path / FILE).read_bytes()
    strange = certificates.pem_of(certificates.new_key(), other.certificate)
    for broken in (b"", whole[:200], whole[:-200], b"\0" * 500, strange):
        (tmp_path / FILE).write_bytes(broken)
        with pytest.raises(CannotStart, match="cannot be read: put it back from a backup, or delete it"):
            kept_authority(tmp_path, HOSTS, NOW)
        assert (tmp_path / FILE).read_bytes() == broken


def test_a_copy_put_back_readable_for_all_is_made_private(tmp_path: Path) -> None:
    kept_authority(tmp_path, HOSTS, NOW)
    (tmp_path / FILE).chmod(0o644)
    read_authority(tmp_path)
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600


def test_the_fingerprint_is_the_one_that_openssl_tells(tmp_path: Path) -> None:
    import hashlib

    from cryptography.hazmat.primitives.serialization import Encoding

    known = kept_authority(tmp_path, HOSTS, NOW)
    digest = hashlib.sha256(known.certificate.public_bytes(Encoding.DER)).hexdigest().upper()
    assert "".join(known.fingerprint_lines()).replace(":", "") == digest
