"""What the authority's certificate and the server's have in common, and the file in which each lies with its key."""

from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ec import (
    SECP256R1,
    EllipticCurvePrivateKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import NameOID

# Clocks in a house differ: nothing made here is "not yet valid" for a phone that is somewhat behind.
BACKDATED = timedelta(days=1)
RENEWED_BEFORE = timedelta(days=30)


def new_key() -> EllipticCurvePrivateKey:
    return generate_private_key(SECP256R1())


def distinguished(common_name: str) -> x509.Name:
    parts = ((NameOID.ORGANIZATION_NAME, "curelog"), (NameOID.COMMON_NAME, common_name))
    return x509.Name([x509.NameAttribute(kind, words) for kind, words in parts])


def begun(
    name: x509.Name, issuer: x509.Name, key: EllipticCurvePrivateKey, now: datetime
) -> x509.CertificateBuilder:
    identity = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    builder = x509.CertificateBuilder().subject_name(name).issuer_name(issuer).public_key(key.public_key())
    builder = builder.serial_number(x509.random_serial_number()).not_valid_before(now - BACKDATED)
    return builder.add_extension(identity, critical=False)


def key_usage(is_authority: bool) -> x509.KeyUsage:
    """An authority signs certificates, a server signs handshakes."""
    unused = ("content_commitment", "key_encipherment", "data_encipherment", "key_agreement", "encipher_only")
    return x509.KeyUsage(
        digital_signature=not is_authority,
        key_cert_sign=is_authority,
        crl_sign=is_authority,
        decipher_only=False,
        **dict.fromkeys(unused, False),
    )


def pem_of(key: EllipticCurvePrivateKey, certificate: x509.Certificate) -> bytes:
    """Key and certificate in one file are never of two minds."""
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return private + certificate.public_bytes(Encoding.PEM)


def read_pair(file: Path) -> tuple[EllipticCurvePrivateKey, x509.Certificate]:
    """OSError where there is no file, ValueError where it holds something else."""
    pem = file.read_bytes()
    certificate = x509.load_pem_x509_certificate(pem)
    try:
        key = load_pem_private_key(pem, None)
    except TypeError as error:
        raise ValueError("behind a password") from error
    if not isinstance(key, EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        raise ValueError("the key of another certificate")
    return key, certificate
