"""One question to a web service, answered whole or not at all."""

import gzip
import http.client
import io
import socket
import urllib.error
import urllib.request
import zlib
from dataclasses import dataclass
from time import monotonic
from typing import Any

# Until something comes, and until all has come: one byte every few seconds would otherwise go on for hours.
_TIMEOUT_S, _WHOLE_S = 20.0, 60.0
_LONGEST = 20_000_000
_TOO_LARGE = "the answer is too large for a forecast"


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


class _TooSlow(OSError):
    """An answer that would not be whole within the limit."""


class _UntilThen(io.RawIOBase):
    """What comes in on a socket (`raw` reads it) up to a moment; a later read raises _TooSlow."""

    def __init__(self, sock: socket.socket, raw: Any, until_s: float) -> None:
        self._sock, self._raw, self._until_s = sock, raw, until_s

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int | None:
        left = self._until_s - monotonic()
        if left > 0:
            self._sock.settimeout(min(left, _TIMEOUT_S))
            try:
                found: int | None = self._raw.readinto(buffer)
                return found
            except TimeoutError:
                if left > _TIMEOUT_S:
                    raise
        raise _TooSlow(f"the answer was not whole within {_WHOLE_S:g} s")

    def close(self) -> None:
        self._raw.close()
        super().close()


class _TimedResponse(http.client.HTTPResponse):
    """Headers and body read within one limit."""

    def __init__(self, sock: socket.socket, *args: Any, **named: Any) -> None:
        super().__init__(sock, *args, **named)
        raw = self.fp.detach()
        self.fp = io.BufferedReader(_UntilThen(sock, raw, monotonic() + _WHOLE_S))


class _Connection(http.client.HTTPConnection):
    response_class = _TimedResponse


class _SecureConnection(http.client.HTTPSConnection):
    response_class = _TimedResponse


class _Timed(urllib.request.HTTPHandler, urllib.request.HTTPSHandler):
    def http_open(self, req: urllib.request.Request) -> http.client.HTTPResponse:
        return self.do_open(_Connection, req)

    def https_open(self, req: urllib.request.Request) -> http.client.HTTPResponse:
        return self.do_open(_SecureConnection, req)


def fetch_address(address: str, headers: dict[str, str]) -> Answer:
    """Ask once; no retry and no redirect. Never raises for what a network or a server does."""
    request = urllib.request.Request(address, headers={**headers, "Accept-Encoding": "gzip"})
    opener = urllib.request.build_opener(_NoRedirect, _Timed)
    try:
        with opener.open(request, timeout=_TIMEOUT_S) as response:
            found = {name.lower(): value for name, value in response.headers.items()}
            body = response.read(_LONGEST + 1)
            if len(body) > _LONGEST:
                return Answer(response.status, found, fault=_TOO_LARGE)
            # A server that closes early leaves `length` to come; read() with a number does not complain.
            if response.length:
                return Answer(response.status, found, fault="the answer was cut short")
            return _unpacked(response.status, found, body)
    except urllib.error.HTTPError as error:
        with error:
            return Answer(error.code, {name.lower(): value for name, value in error.headers.items()})
    except _TooSlow as error:
        return Answer(0, {}, fault=str(error))
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
        return Answer(status, headers, fault=_TOO_LARGE)
    return Answer(status, headers, body)
