"""Tokens of forms: that a form is ours, from this link's own page and not too old, and which one it is.

The key is the link's own secret: whoever does not know it cannot make a token, and a restart of the server
leaves the pages on people's phones valid.
"""

import hmac
import re
from hashlib import sha256

FORM_DAYS = 1
# So long a page that was left open is asked about before its answer counts; an older one is not ours.
ASKED_DAYS = 400
_FORM = re.compile(r"(\d{1,7})\.([A-Za-z0-9_-]{16,64})\.([0-9a-f]{64})", re.ASCII)


def form_token(secret: str, day: int, nonce: str) -> str:
    """The token of one form shown on one day (ordinal); `nonce` is random and differs between forms."""
    return f"{day}.{nonce}.{_sign(secret, day, nonce)}"


def read_form_token(secret: str, token: str, today: int, most_days: int = FORM_DAYS) -> str | None:
    """The nonce of a token of ours, at most `most_days` old; None for any other."""
    found = _FORM.fullmatch(token)
    if found is None:
        return None
    day, nonce, signature = int(found[1]), found[2], found[3]
    if not hmac.compare_digest(signature, _sign(secret, day, nonce)):
        return None
    return nonce if today - most_days <= day <= today + 1 else None


def form_day(token: str) -> int:
    """The day (ordinal) on which the form of a token that was read was shown."""
    return int(token.split(".", 1)[0])


def _sign(secret: str, day: int, nonce: str) -> str:
    return hmac.new(secret.encode(), f"form {day} {nonce}".encode(), sha256).hexdigest()


def is_same_origin(host: str, origin: str | None, fetch_site: str | None) -> bool:
    """Whether a form was sent from a page of this very host.

    `fetch_site` is Sec-Fetch-Site (W3C Fetch Metadata), which every current browser sends. Where it is
    missing the Origin must name this host; a browser that was told no-referrer sends `null` (Fetch, 3.2),
    and then the form's own token has to do.
    """
    if fetch_site is not None:
        return fetch_site == "same-origin"
    if origin is None or origin == "null":
        return True
    return origin.lower() in (f"https://{host.lower()}", f"http://{host.lower()}")
