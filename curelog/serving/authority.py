"""The workshop's own certificate authority: a key that stays here, and a certificate that phones are asked to trust."""

import logging
import socket
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.x509.oid import NameOID

from curelog.serving import certificates, house
from curelog.serving.failure import CannotStart
from curelog.serving.folder import AUTHORITY_FILE, write_private

logger = logging.getLogger(__name__)

LIFETIME = timedelta(days=3650)
LONGEST_NAME = 64  # RFC 5280, appendix A.1


@dataclass(frozen=True)
class Authority:
    key: EllipticCurvePrivateKey
    certificate: x509.Certificate

    @property
    def name(self) -> str:
        """Under which a phone lists it."""
        return str(self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    def fingerprint_lines(self) -> list[str]:
        """SHA-256, as phones and browsers write it, in lines that fit a phone."""
        digest = self.certificate.fingerprint(SHA256())
        return [digest[at : at + 8].hex(":").upper() for at in range(0, len(digest), 8)]

    @property
    def limits(self) -> x509.NameConstraints:
        return self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value

    def key_identifier(self) -> x509.AuthorityKeyIdentifier:
        own = self.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
        return x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(own)

    def is_ending(self, now: datetime, notice: timedelta = certificates.RENEWED_BEFORE) -> bool:
        return self.certificate.not_valid_after_utc - now <= notice


def kept_authority(folder: Path, own_hosts: list[str], now: datetime) -> Authority:
    """The one in the folder; a new one where there is none, or where it has come to its end."""
    if not (folder / AUTHORITY_FILE).exists():
        return make_authority(folder, own_hosts, now)
    known = read_authority(folder)
    if now < known.certificate.not_valid_before_utc:
        raise CannotStart(
            f"The clock of this machine says {now:%-d %B %Y}, "
            "but its certificate authority was made later: set the clock, then start again."
        )
    if not known.is_ending(now):
        return known
    logger.warning("The certificate authority came to its end: each phone must be made to trust the new one.")
    return make_authority(folder, own_hosts, now)


def read_authority(folder: Path) -> Authority:
    file = folder / AUTHORITY_FILE
    try:
        # A copy that somebody put back may have come without its privacy.
        file.chmod(0o600)
        return Authority(*certificates.read_pair(file))
    except (OSError, ValueError) as error:
        raise CannotStart(
            f"The certificate authority {file} cannot be read: put it back from a backup, or delete it, "
            "and each phone must trust the new one that is made then."
        ) from error


def make_authority(folder: Path, own_hosts: list[str], now: datetime) -> Authority:
    key = certificates.new_key()
    name = certificates.distinguished(f"curelog on {socket.gethostname()}"[:LONGEST_NAME])
    certificate = (
        certificates.begun(name, name, key, now)
        .not_valid_after(now + LIFETIME)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(certificates.key_usage(is_authority=True), critical=True)
        .add_extension(house.constraints(own_hosts), critical=True)
        .sign(key, SHA256())
    )
    write_private(folder / AUTHORITY_FILE, certificates.pem_of(key, certificate))
    return Authority(key, certificate)
