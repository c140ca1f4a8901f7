"""Certificates of a house that is on no network, at a moment of the test's choosing."""

import subprocess
from datetime import UTC, datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from curelog.serving.authority import Authority

NOW = datetime(2026, 5, 4, 10, tzinfo=UTC)
HOSTS = ["localhost", "127.0.0.1", "[::1]", "shed", "shed.local", "192.168.7.9"]


def kept_leaf(folder: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate((folder / "lan-leaf.pem").read_bytes())


def public_file(folder: Path, authority: Authority) -> Path:
    """As a phone fetches it."""
    file = folder / "fetched.pem"
    file.write_bytes(authority.certificate.public_bytes(Encoding.PEM))
    return file


def openssl_says(authority_file: Path, leaf_file: Path, at: datetime, *names: str) -> str:
    """What OpenSSL's own command thinks of the leaf; `names` as its options take them."""
    asked = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver"]
    asked += ["-attime", str(int(at.timestamp())), "-CAfile", str(authority_file), *names, str(leaf_file)]
    done = subprocess.run(asked, capture_output=True, text=True)
    return done.stdout + done.stderr
