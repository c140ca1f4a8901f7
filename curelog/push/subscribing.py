"""A browser's push subscription, as it comes from outside: looked at closely before anything is stored."""

from collections.abc import Mapping
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePublicKey

from curelog.push.addresses import AddressCheck, checked_url, is_public, resolved
from curelog.push.base64url import decoded

AUTH_BYTES = 16


class BadSubscription(Exception):
    """The words say what is wrong."""


def checked(told: Mapping[str, Any], may_connect: AddressCheck = is_public) -> tuple[str, dict[str, str]]:
    """Endpoint and keys. Raises BadSubscription, or Forbidden for an address that is never sent to."""
    try:
        endpoint, keys = str(told["endpoint"]), {name: str(told["keys"][name]) for name in ("p256dh", "auth")}
        EllipticCurvePublicKey.from_encoded_point(SECP256R1(), decoded(keys["p256dh"]))
        is_whole = len(decoded(keys["auth"])) == AUTH_BYTES
    except (KeyError, TypeError, ValueError) as error:
        raise BadSubscription("This is not a browser's subscription.") from error
    if not is_whole:
        raise BadSubscription("This is not a browser's subscription.")
    try:
        resolved(checked_url(endpoint), may_connect)
    except OSError as error:
        raise BadSubscription("The browser's push service cannot be found from here.") from error
    return endpoint, keys
