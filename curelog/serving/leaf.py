"""The certificate that the server shows: for this machine's names and addresses, made anew before it ends."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.x509.oid import ExtendedKeyUsageOID

from curelog.serving import certificates, house
from curelog.serving.authority import Authority
from curelog.serving.folder import LEAF_FILE, write_private

# With the day that it is dated back: 397. Apple takes up to 825 from an authority that was added by hand, and browsers
# 398 from public ones (both from memory).
LIFETIME = timedelta(days=396)


def renew_leaf(folder: Path, authority: Authority, hosts: Iterable[str], now: datetime) -> bool:
    """Whether a new one had to be made."""
    wanted = [name for name in house.general_names(hosts) if house.is_permitted(name, authority.limits)]
    if lasts(folder / LEAF_FILE, authority, wanted, now):
        return False
    key = certificates.new_key()
    leaf = (
        certificates.begun(certificates.distinguished("curelog"), authority.certificate.subject, key, now)
        .not_valid_after(min(now + LIFETIME, authority.certificate.not_valid_after_utc))
        .add_extension(x509.SubjectAlternativeName(wanted), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(certificates.key_usage(is_authority=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(authority.key_identifier(), critical=False)
        .sign(authority.key, SHA256())
    )
    write_private(folder / LEAF_FILE, certificates.pem_of(key, leaf))
    return True


def lasts(file: Path, authority: Authority, wanted: list[x509.GeneralName], now: datetime) -> bool:
    """Whether the kept one is this authority's, names every host, and is far from its end. Losing it harms nobody."""
    try:
        _, leaf = certificates.read_pair(file)
        leaf.verify_directly_issued_by(authority.certificate)
        named = set(leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value)
    except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    renewed_at = leaf.not_valid_after_utc - certificates.RENEWED_BEFORE
    return leaf.not_valid_before_utc <= now < renewed_at and set(wanted) <= named
