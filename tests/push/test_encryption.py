"""RFC 8291, section 5 and appendix A (November 2017, rfc-editor.org/rfc/rfc8291): the published example, byte for byte.
The values were read in several public test suites that quote the appendix, all alike."""

import http_ece
import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, derive_private_key, generate_private_key
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from hypothesis import given, settings
from hypothesis import strategies as st

from curelog.push.base64url import decoded, encoded
from curelog.push.encryption import MOST_BYTES, encrypt, point

PLAIN = b"When I grow up, I want to be a watermelon"
SENDER_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
BROWSER_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
BROWSER_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
# Appendix A: content encryption key and nonce.
CONTENT_KEY = "oIhVW04MRdy2XN9CiKLxTg"
NONCE = "4h_95klXJ5E_qnoN"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_"
    "yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def private_key(text):
    return derive_private_key(int.from_bytes(decoded(text)), SECP256R1())


def test_the_published_example_comes_out_byte_for_byte():
    made = encrypt(PLAIN, decoded(BROWSER_PUBLIC), decoded(AUTH), private_key(SENDER_PRIVATE), decoded(SALT))
    assert encoded(made) == BODY


def test_the_published_key_and_nonce_open_our_record():
    """By RFC 8188 alone, with nothing of ours and nothing of http_ece in between."""
    made = encrypt(PLAIN, decoded(BROWSER_PUBLIC), decoded(AUTH), private_key(SENDER_PRIVATE), decoded(SALT))
    header_bytes = 16 + 4 + 1 + made[20]
    opened = AESGCM(decoded(CONTENT_KEY)).decrypt(decoded(NONCE), made[header_bytes:], None)
    assert opened == PLAIN + b"\x02"


@settings(max_examples=30, deadline=None)
@given(text=st.binary(max_size=MOST_BYTES), auth=st.binary(min_size=16, max_size=16))
def test_http_ece_reads_whatever_is_encrypted(text, auth):
    browser = generate_private_key(SECP256R1())
    made = encrypt(text, point(browser.public_key()), auth)
    assert http_ece.decrypt(made, private_key=browser, auth_secret=auth) == text
    assert len(made) <= 4096


def test_two_messages_share_neither_salt_nor_key():
    made = [encrypt(PLAIN, decoded(BROWSER_PUBLIC), decoded(AUTH)) for _ in range(2)]
    assert made[0][:16] != made[1][:16]
    assert made[0][21:86] != made[1][21:86]


def test_what_is_too_long_or_no_key_is_refused():
    with pytest.raises(ValueError, match="holds"):
        encrypt(b"x" * (MOST_BYTES + 1), decoded(BROWSER_PUBLIC), decoded(AUTH))
    with pytest.raises(ValueError):  # noqa: PT011 (the library's own words)
        encrypt(PLAIN, b"\x04" + bytes(64), decoded(AUTH))
