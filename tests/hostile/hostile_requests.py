"""Hostile requests, whole, as octets for a socket. Everything is drawn from a seed."""

import json
import random
from io import BytesIO

from PIL import Image

WORDS = (
    *(
        "..",
        "%2e%2e%2f",
        "all.ics",
        "sats-01",
        "trees",
        "\\",
        "%00",
        "<script>",
        "{{7*7}}",
        "%ff%fe",
        "a" * 900,
    ),
    *(
        "nights",
        "water",
        "show",
        "works.ics",
        ".shares.json",
        "%0d%0aX:%20y",
        "🌸",
        "photos",
        "",
        "-",
        "x.jpg",
    ),
)
HOSTS = (*["localhost"] * 20, "localhost:1", "a" * 300, "a" * 70, "[::1", "x@y", "", "a..b", "xn--0", "🌸")
STARTS = (
    *(
        "",
        "feeds/",
        "feeds/trees/",
        "trees/",
        "trees/sats-01",
        "notes",
        "photos",
        "photos/",
        "outbox",
        "state",
    ),
    *(
        "nights",
        "water",
        "show",
        "calendar",
        "sw.js",
        "app.webmanifest",
        "trees?find=",
        "?noted=",
        "?season=",
    ),
)
METHODS = (*["GET"] * 7, *["POST"] * 3, "HEAD", "PUT", "OPTIONS", "TRACE", "DELETE", "GE T", "get")
HEADERS = (
    *("If-None-Match", "If-Match", "If-Modified-Since", "If-Unmodified-Since", "If-Range", "Range"),
    *("Accept", "Accept-Encoding", "Accept-Language", "Origin", "Sec-Fetch-Site", "Cookie", "Authorization"),
    *("Forwarded", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-For", "Content-Type", "Expect"),
    *("Transfer-Encoding", "Upgrade", "Referer", "User-Agent", "Content-Encoding", "X" * 300),
)
VALUES = (
    *('"a"' + ", , , ," * 15 + "x", '"' * 900, 'W/"a",' * 200, "a;" * 500, "gzip;q=" + "0" * 900, "*"),
    *(
        "bytes=0-",
        "bytes=" + "0-1," * 400,
        "bytes=9999999999999999999999-",
        "\x7f",
        "",
        "chunked",
        "same-origin",
    ),
    *("Sun, 06 Nov 99999999999999999999 08:49:37 GMT", "Sun, 06 Nov 1994 08:49:37 GMT", "100-continue"),
    *("multipart/form-data; boundary=" + "-" * 300, "multipart/form-data", "application/json", "null"),
    *(
        "for=127.0.0.1;host=evil;proto=https",
        "evil.invalid",
        "https",
        "a=" + "b" * 4000,
        "\xff\xfe",
        "en;q=nan",
    ),
)
ACTS = (
    "did",
    "skipped",
    "saw",
    "not-yet",
    "open",
    "words",
    "take-back",
    "put-off",
    "moved",
    "walk all",
    "left",
    "show",
)
FIELDS = ("act", "tree", "rule", "stage", "open", "on", "words", "page", "place", "entry", "plants", "bench",
          "item", "every", "of", "tapped", "branch", "petal", "sure")  # fmt: skip


def a_picture(chance: random.Random) -> bytes:
    """A picture that is none, cut short, with something behind it, or of far too many pixels."""
    out = BytesIO()
    Image.new("RGB", (chance.choice((1, 40)), 40), "red").save(out, chance.choice(("JPEG", "PNG")))
    data = bytearray(out.getvalue())
    kind = chance.randrange(4)
    if kind == 0:
        return bytes(data[: chance.randrange(len(data))])
    if kind == 1:
        return bytes(data) + b"<script>" + chance.randbytes(300)
    if kind == 2:
        data[chance.randrange(len(data))] = chance.randrange(256)
        return bytes(data)
    return b"\x89PNG\r\n\x1a\n" + b"\0\0\0\rIHDR" + b"\x7f\xff\xff\xff" * 2 + b"\x08\2\0\0\0" + bytes(4)


def a_body(chance: random.Random, token: str) -> tuple[str, bytes]:
    """A kind of content and a body: forms, files, JSON, and what is none of them."""
    kind = chance.randrange(5)
    if kind == 0:
        return "application/x-www-form-urlencoded", chance.choice(
            (chance.randbytes(300), b"act=" + b"%" * 500, b"&" * 2_000, b"form=1." + b"a" * 400)
        )
    if kind == 1:
        fields = {chance.choice(FIELDS): chance.choice(WORDS + ACTS) for _ in range(6)} | {"form": token}
        fields |= {"act": chance.choice(ACTS), "tree": "sats-01"}
        text = "&".join(f"{name}={value}" for name, value in fields.items())
        return "application/x-www-form-urlencoded", text.encode()
    if kind == 2:
        parts = [("form", b"", token.encode()), ("tree", b"", b"sats-01"),
                 ("branch", b"", chance.choice(WORDS).encode()),
                 ("photo", b'; filename="../../x.jpg"', a_picture(chance))]  # fmt: skip
        head = b'--b\r\nContent-Disposition: form-data; name="'
        body = b"".join(head + name.encode() + b'"' + more + b"\r\n\r\n" + data + b"\r\n"
                        for name, more, data in parts)  # fmt: skip
        return "multipart/form-data; boundary=b", body + chance.choice((b"--b--\r\n", b"", b"--"))
    if kind == 3:
        words = [["act", "words"], ["tree", "sats-01"], ["words", "x"]]
        row = {
            "id": chance.choice(("n-23456789", "", "../x", 7)),
            "fields": chance.choice((words, [], {}, None, "x")),
        }
        return "application/json", json.dumps(chance.choice(([row], [row] * 300, {}, None, 1e308))).encode()
    return "application/json", b"[" * chance.choice((10, 100_000))


def request(chance: random.Random, base: str, token: str) -> bytes:
    """One hostile request to a link, whole; `token` is one of its forms'."""
    method = chance.choice(METHODS)
    start = chance.choice(
        (
            *(base + start for start in STARTS),
            "/static/",
            "/static/care.css",
            "/g/",
            "/",
            "/g/" + "a" * 43 + "/",
        )
    )
    path = start + "/".join(chance.choice(WORDS) for _ in range(chance.choice((0, 0, 1, 2, 3))))
    if method == "POST" and chance.random() < 0.8:
        path = base + chance.choice(("notes", "notes", "photos", "outbox"))
    lines = [
        f"{method} {path.replace(' ', '%20')} HTTP/1.1",
        f"Host: {chance.choice(HOSTS)}",
        "Connection: close",
    ]
    body, kind = b"", ""
    if method == "POST" or chance.random() < 0.1:
        kind, body = a_body(chance, token)
        lines += [f"Content-Length: {len(body)}", f"Content-Type: {kind}"]
        lines += ["Sec-Fetch-Site: same-origin"] if chance.random() < 0.8 else []
    lines += [f"{chance.choice(HEADERS)}: {chance.choice(VALUES)}" for _ in range(chance.randint(0, 4))]
    return "\r\n".join(lines).encode("utf-8", "replace") + b"\r\n\r\n" + body
