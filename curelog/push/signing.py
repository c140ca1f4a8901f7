"""Telling the push service who sends: a signed token (RFC 8292), and the key pair that signs it."""

import json
import os
import secrets
from datetime import datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDSA,
    SECP256R1,
    EllipticCurvePrivateKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from curelog.push.base64url import encoded
from curelog.push.encryption import point

KEY_FILE = "push.key"
# RFC 8292, 2: at most 24 hours; less leaves room for a clock that is wrong.
LIFETIME = timedelta(hours=12)


def kept_key(folder: Path) -> EllipticCurvePrivateKey:
    """The workshop's key pair, made when it is first asked for. All subscriptions hang on it."""
    file = folder / KEY_FILE
    if not file.exists():
        _make(file)
    key = load_pem_private_key(file.read_bytes(), None)
    assert isinstance(key, EllipticCurvePrivateKey)
    return key


def _make(file: Path) -> None:
    """Whole or not at all, never readable for others; of two that make one at once, the first one's stays."""
    pem = generate_private_key(SECP256R1()).private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    draft = file.with_name(f"{file.name}.{secrets.token_hex(4)}")
    with open(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        out.write(pem)
    try:
        os.link(draft, file)
    except FileExistsError:
        pass
    finally:
        draft.unlink()


def public_text(key: EllipticCurvePrivateKey) -> str:
    """As `applicationServerKey` of a subscription wants it."""
    return encoded(point(key.public_key()))


def authorization(key: EllipticCurvePrivateKey, endpoint: str, contact: str, now: datetime) -> str:
    """The header's value for one push service. `contact`: a mailto: or https: address for its operators."""
    parts = urlsplit(endpoint)
    claims = {
        "aud": f"{parts.scheme}://{parts.netloc}",
        "exp": int((now + LIFETIME).timestamp()),
        "sub": contact,
    }
    return f"vapid t={_signed(claims, key)}, k={public_text(key)}"


def _signed(claims: dict[str, object], key: EllipticCurvePrivateKey) -> str:
    """A JSON web token, ES256 (RFC 7515; RFC 7518, 3.4: the two numbers side by side, 32 bytes each)."""
    parts = ({"typ": "JWT", "alg": "ES256"}, claims)
    text = ".".join(encoded(json.dumps(part, separators=(",", ":")).encode()) for part in parts)
    r, s = decode_dss_signature(key.sign(text.encode(), ECDSA(SHA256())))
    return f"{text}.{encoded(r.to_bytes(32) + s.to_bytes(32))}"
