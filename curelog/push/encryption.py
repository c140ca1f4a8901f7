"""Encrypting a push message for one browser: RFC 8291, in the aes128gcm coding of RFC 8188, as one record."""

import secrets

from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDH,
    SECP256R1,
    EllipticCurvePrivateKey,
    EllipticCurvePublicKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

SALT_BYTES, KEY_BYTES, NONCE_BYTES = 16, 16, 12
RECORD_BYTES = 4096
# RFC 8030, 7.2: a push service takes at least 4096 bytes; off go header (86), tag (16) and delimiter (1).
MOST_BYTES = RECORD_BYTES - 103
LAST_RECORD = b"\x02"


def encrypt(
    text: bytes,
    browser_key: bytes,
    auth_secret: bytes,
    own_key: EllipticCurvePrivateKey | None = None,
    salt: bytes | None = None,
) -> bytes:
    """`browser_key`: the subscription's public point, 65 bytes; `auth_secret`: its 16 bytes. Key pair and salt are
    fresh for each message; only a test hands them in. Raises ValueError for a key that is no point of the curve."""
    if len(text) > MOST_BYTES:
        raise ValueError(f"a push message holds {MOST_BYTES} bytes, not {len(text)}")
    salt = salt or secrets.token_bytes(SALT_BYTES)
    own_key = own_key or generate_private_key(SECP256R1())
    own_point = point(own_key.public_key())
    shared = own_key.exchange(ECDH(), EllipticCurvePublicKey.from_encoded_point(SECP256R1(), browser_key))
    key_info = b"WebPush: info\0" + browser_key + own_point
    input_key = HKDF(SHA256(), 32, auth_secret, key_info).derive(shared)
    key = HKDF(SHA256(), KEY_BYTES, salt, b"Content-Encoding: aes128gcm\0").derive(input_key)
    nonce = HKDF(SHA256(), NONCE_BYTES, salt, b"Content-Encoding: nonce\0").derive(input_key)
    header = salt + RECORD_BYTES.to_bytes(4) + bytes([len(own_point)]) + own_point
    return header + AESGCM(key).encrypt(nonce, text + LAST_RECORD, None)


def point(key: EllipticCurvePublicKey) -> bytes:
    return key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
