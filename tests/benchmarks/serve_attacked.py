"""A server under hostile requests while notes come in and files are broken and mended; its memory over notes.

Run from the project's root: python tests/benchmarks/serve_attacked.py [REQUESTS [NOTES]]

Without numbers 20,000 requests over raw sockets, then 500 notes on the twelve trees of the example. The
server is a process of its own on loopback. Ends with exit code 1 where an answer was 500 or took over two
seconds, or where the server went.
"""

import random
import re
import shutil
import socket
import subprocess
import sys
import time
from collections import Counter
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event, Thread
from urllib.parse import quote, urlencode

from serve_load import EXAMPLE, FEED, PORT, SERVER, Client, until

from care_planner.serve.share_links import share_add

SLOW_S = 2.0
WORDS = [
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
]
METHODS = ["GET"] * 6 + ["HEAD", "POST", "PUT", "OPTIONS", "TRACE", "GE T"]
HEADERS = [
    "If-None-Match",
    "If-Match",
    "If-Modified-Since",
    "If-Unmodified-Since",
    "Accept-Encoding",
    "Range",
    "Origin",
    "Cookie",
    "X-Forwarded-Host",
    "X-Forwarded-Proto",
    "Content-Type",
    "Accept",
]
VALUES = [
    '"a"' + ", , , ," * 15 + "x",
    '"' * 900,
    'W/"a",' * 200,
    "a;" * 500,
    "gzip;q=" + "0" * 900,
    "*",
    "bytes=0-",
    "Sun, 06 Nov 99999999999999999999 08:49:37 GMT",
    "multipart/form-data; boundary=" + "-" * 300,
    "\x7f",
    "",
]


def request(chance: random.Random, base: str) -> bytes:
    """One hostile request, whole."""
    path = chance.choice([base, base + "feeds/", base + "trees/", base + "notes", "/static/", "/g/", "/"])
    path += "/".join(chance.choice(WORDS) for _ in range(chance.randint(0, 3)))
    lines = [f"{chance.choice(METHODS)} {path} HTTP/1.1", "Host: localhost", "Connection: close"]
    lines += [f"{chance.choice(HEADERS)}: {chance.choice(VALUES)}" for _ in range(chance.randint(0, 4))]
    body = b""
    if chance.random() < 0.3:
        body = chance.choice(
            [chance.randbytes(300), b"act=" + b"%" * 500, b"&" * 2_000, b"form=1." + b"a" * 400]
        )
        lines.append(f"Content-Length: {len(body)}")
    return "\r\n".join(lines).encode("latin-1") + b"\r\n\r\n" + body


def ask(data: bytes) -> int:
    """The status of the answer; 0 where the server only closed."""
    with socket.create_connection(("127.0.0.1", PORT), 30) as one:
        one.sendall(data)
        got = one.recv(4096)
        while one.recv(65536):
            pass
    return int(got[9:12]) if got.startswith(b"HTTP/1.") else 0


def memory_mb(pid: int) -> float:
    """What the process holds in memory now (Linux)."""
    text = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    found = re.search(r"VmRSS:\s+(\d+)", text)
    return int(found[1]) / 1024 if found else 0.0


def disturb(folder: Path, done: Event) -> None:
    """Break a file and mend it, again and again, and note beside it."""
    files = [folder / "collection.yaml", *sorted((folder / "journal").glob("*.yaml"))]
    good = {path: path.read_bytes() for path in files}
    chance = random.Random(2)
    while not done.wait(1.0):
        path = chance.choice(files)
        path.write_bytes(good[path][: chance.randrange(len(good[path]))])
        done.wait(1.0)
        path.write_bytes(good[path])


def send_note(base: str, number: int) -> None:
    """One note of a few words, and wait until the plan knows it."""
    page = Client().ask(f"{base}trees/sats-02")[2].decode()
    token = re.search(r'name="form" value="([^"]+)"', page)
    assert token is not None
    fields = {
        "form": token[1],
        "tree": "sats-02",
        "act": "words",
        "words": f"note {number}",
        "page": "sats-02",
    }
    status, headers, _ = Client().ask(
        base + "notes", urlencode(fields, quote_via=quote), Sec_Fetch_Site="same-origin"
    )
    assert status == 303, status
    for _ in range(600):
        if b'class="waiting"' not in Client().ask(headers["location"])[2]:
            return
        time.sleep(0.1)
    raise AssertionError("no plan came")


def fuzz(base: str, folder: Path, number: int, pid: int) -> bool:
    """Hostile requests, one after the other; whether all went well."""
    statuses: Counter[int] = Counter()
    slowest, chance, done = 0.0, random.Random(1), Event()
    Thread(target=disturb, args=(folder, done), daemon=True).start()
    first = memory_mb(pid)
    for _ in range(number):
        data = request(chance, base)
        began = time.monotonic()
        statuses[ask(data)] += 1
        slowest = max(slowest, time.monotonic() - began)
    done.set()
    time.sleep(2.5)
    print(
        f"{number} requests: {dict(sorted(statuses.items()))}, slowest {slowest:.2f} s, "
        f"memory {first:.0f} to {memory_mb(pid):.0f} MB"
    )
    return not statuses[500] and slowest <= SLOW_S


def main() -> None:
    """Both parts, on a copy of the example."""
    requests, notes = [*map(int, sys.argv[1:3]), *(20_000, 500)[len(sys.argv[1:3]) :]]
    with TemporaryDirectory() as place:
        folder = Path(place) / "trees"
        shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("calendar", "served", "identity.txt"))
        wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
        lines = share_add(folder, "load", wanted, True, "http://x", date(2027, 5, 29))  # type: ignore[arg-type]
        base = next(line for line in lines if "http://x" in line).strip().removeprefix("http://x")
        server = subprocess.Popen(
            [sys.executable, "-c", SERVER, str(folder), str(PORT)], stderr=subprocess.DEVNULL
        )
        try:
            until(lambda: Client().ask(base + FEED)[0] == 200)
            well = fuzz(base, folder, requests, server.pid)
            sizes = []
            for number in range(notes):
                send_note(base, number)
                if number % max(1, notes // 10) == 0:
                    sizes.append(f"{memory_mb(server.pid):.0f}")
                time.sleep(5.1 if number >= 30 else 0)
            print(f"memory over {notes} notes, each planned with: {', '.join(sizes)} MB")
            well = well and server.poll() is None
        finally:
            server.terminate()
            server.wait()
    sys.exit(0 if well else 1)


if __name__ == "__main__":
    main()
