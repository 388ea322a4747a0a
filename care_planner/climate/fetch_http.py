"""One question to a web service, answered whole or not at all."""

import gzip
import http.client
import urllib.error
import urllib.request
import zlib
from dataclasses import dataclass

_TIMEOUT_S = 20
_LONGEST = 20_000_000


@dataclass(frozen=True)
class Answer:
    """status 0: no answer, `fault` says why. Header names are in small letters; the body is unpacked."""

    status: int
    headers: dict[str, str]
    body: bytes = b""
    fault: str = ""


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """Where a service sends elsewhere the question is not repeated there: the place is not for others."""

    def redirect_request(self, *_: object) -> None:
        return None


def fetch_address(address: str, headers: dict[str, str]) -> Answer:
    """Ask once; no retry and no redirect. Never raises for what a network or a server does."""
    request = urllib.request.Request(address, headers={**headers, "Accept-Encoding": "gzip"})
    opener = urllib.request.build_opener(_NoRedirect)
    try:
        with opener.open(request, timeout=_TIMEOUT_S) as response:
            found = {name.lower(): value for name, value in response.headers.items()}
            body = response.read(_LONGEST + 1)
            # A server that closes early leaves `length` to come; read() with a number does not complain.
            if response.length:
                return Answer(response.status, found, fault="the answer was cut short")
            return _unpacked(response.status, found, body)
    except urllib.error.HTTPError as error:
        with error:
            return Answer(error.code, {name.lower(): value for name, value in error.headers.items()})
    except (OSError, http.client.HTTPException, ValueError) as error:
        reason = getattr(error, "reason", error)
        return Answer(0, {}, fault=f"no answer ({reason})")


def _unpacked(status: int, headers: dict[str, str], body: bytes) -> Answer:
    if headers.get("content-encoding", "").lower() == "gzip":
        try:
            unzipped = zlib.decompressobj(16 + zlib.MAX_WBITS)
            body = unzipped.decompress(body, _LONGEST + 1)
            if not unzipped.eof and len(body) <= _LONGEST:
                return Answer(status, headers, fault="the answer was cut short")
        except (zlib.error, gzip.BadGzipFile):
            return Answer(status, headers, fault="the answer was cut short")
    if len(body) > _LONGEST:
        return Answer(status, headers, fault="the answer is too large for a forecast")
    return Answer(status, headers, body)
