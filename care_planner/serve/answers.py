"""Answers with the headers that each kind needs."""

from typing import Any

from flask import Request, Response
from werkzeug.datastructures import Headers
from werkzeug.http import http_date, quote_etag

from care_planner.serve.conditional import evaluate, wants_gzip
from care_planner.serve.served import ServedFeed, pack

# No script or style but our own files, nothing from elsewhere, no frame around us. CSP level 3.
_CSP = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; form-action 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
CALENDAR = "text/calendar; charset=utf-8"
PACKED_FROM_OCTETS = 2_000


class _NotModified(Response):
    """A 304 that repeats both validators: the library would drop Last-Modified as a header of the body."""

    def get_wsgi_headers(self, environ: Any) -> Headers:
        headers = super().get_wsgi_headers(environ)
        headers["Last-Modified"] = self.headers["Last-Modified"]
        return headers


def guarded(response: Response) -> Response:
    """The headers of every answer: an address with a secret in it leaks nowhere and is listed nowhere."""
    response.headers["Referrer-Policy"] = "no-referrer"
    response.headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers.setdefault("Content-Security-Policy", _CSP)
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    response.headers.setdefault("Cache-Control", "private, no-cache")
    return response


def packed_page(response: Response, request: Request) -> Response:
    """A page as gzip, where the browser takes it: the trees of a large collection are much alike."""
    if response.direct_passthrough or response.mimetype != "text/html" or response.status_code != 200:
        return response
    data = response.get_data()
    if len(data) < PACKED_FROM_OCTETS or not wants_gzip(request.headers):
        return response
    response.set_data(pack(data))
    response.headers["Content-Encoding"] = "gzip"
    response.vary.add("Accept-Encoding")
    return response


def worker_answer(script: str) -> Response:
    """The worker's script. Its own requests obey the policy that came with it (W3C Service Workers)."""
    response = Response(script, mimetype="text/javascript")
    response.headers["Content-Security-Policy"] = "default-src 'none'; connect-src 'self'"
    response.headers["Cache-Control"] = "no-cache"
    return response


def feed_answer(feed: ServedFeed, request: Request) -> Response:
    """A feed, or 304 or 412 where that is what was asked. The status is never anything else."""
    answer = evaluate((feed.tag, feed.packed_tag), feed.change.at, request.headers)
    packed = wants_gzip(request.headers)
    if answer == "whole":
        response = Response(feed.packed if packed else feed.plain, content_type=CALENDAR)
        if packed:
            response.headers["Content-Encoding"] = "gzip"
    else:
        kind = _NotModified if answer == "not-modified" else Response
        response = kind(status=304 if answer == "not-modified" else 412)
        del response.headers["Content-Type"]
    response.headers["ETag"] = quote_etag(feed.packed_tag if packed else feed.tag)
    response.headers["Last-Modified"] = http_date(feed.change.at)
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Vary"] = "Accept-Encoding"
    return response


def not_ready() -> Response:
    """There is no feed yet: clients keep what they have and come again."""
    response = Response("The plan is being made. Try again in a minute.\n", status=503, mimetype="text/plain")
    response.headers["Retry-After"] = "60"
    return response


def busy() -> Response:
    """The machine is at fault: whoever asked keeps what they have and comes again. Made without any file."""
    words = "This cannot be answered just now: a fault of the machine, not of your link. Try again soon.\n"
    response = Response(words, status=503, mimetype="text/plain")
    response.headers["Retry-After"] = "30"
    return response
