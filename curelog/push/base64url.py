"""Base64 as URLs, JSON web tokens and push subscriptions write it: RFC 4648, section 5, without padding."""

from base64 import urlsafe_b64decode, urlsafe_b64encode


def encoded(data: bytes) -> str:
    return urlsafe_b64encode(data).rstrip(b"=").decode()


def decoded(text: str) -> bytes:
    """Raises ValueError for what is no base64."""
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))
