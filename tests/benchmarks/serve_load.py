"""What serving costs: feeds and 304s beside a static file of the same server; many subscribers during notes.

Run from the project's root: python tests/benchmarks/serve_load.py [SUBSCRIBERS NOTES]

Without numbers 50 subscribers and 8 notes; 200 and 600 are ten minutes. All rates are from one run on one
machine, as ratios to the static file. In the second part a note comes each second and each subscriber polls
every two seconds, by turns with and without the tag it has. An answer that is no calendar, or older than a
plan that was there before the answer was asked for, ends it with exit code 1.
"""

import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event, Lock

from served_apart import EXAMPLE, FEED, Apart, served_apart

SECONDS = 4.0
CLIENTS = 4
LINKS = 20  # a link has its allowance of pages and notes
SUBSCRIBERS, NOTES = 50, 8
POLL_EVERY_S = 2.0
NOTE_EVERY_S = 1.0


def rate(apart: Apart, path: str, expected: int, **headers: str) -> float:
    """Answers a second over a few connections at once."""

    def work(until: float) -> int:
        client, count = apart.client(), 0
        while time.monotonic() < until:
            status, _, _ = client.ask(path, **headers)
            assert status == expected, status
            count += 1
        return count

    with ThreadPoolExecutor(CLIENTS) as pool:
        counts = pool.map(work, [time.monotonic() + SECONDS] * CLIENTS)
    return sum(counts) / SECONDS


def rates(apart: Apart) -> None:
    """Print how feeds do beside the style sheet, which is a file in memory without a link to check."""
    feed = apart.links[0] + FEED
    _, headers, body = apart.client().ask(feed)
    static = rate(apart, "/static/care.css", 200)
    print(f"static file             {static:7.0f} answers a second")
    for name, more, expected in (
        ("304 by tag", {"If_None_Match": headers["etag"]}, 304),
        ("304 by date", {"If_Modified_Since": headers["last-modified"]}, 304),
        ("feed, gzip", {"Accept_Encoding": "gzip"}, 200),
        (f"feed, {len(body) // 1000} kB plain", {}, 200),
    ):
        found = rate(apart, feed, expected, **more)
        print(f"{name:<23} {found:7.0f} answers a second, {found / static:.2f} of the static file")


@dataclass
class Known:
    """The tags of the plans in their order, as one looker saw them."""

    tags: list[str]
    lock: Lock = field(default_factory=Lock)

    def newest(self) -> int:
        """The place of the newest."""
        with self.lock:
            return len(self.tags) - 1

    def place(self, tag: str) -> int:
        """The place of a tag. One that is not known yet is newer than all that are."""
        with self.lock:
            return self.tags.index(tag) if tag in self.tags else len(self.tags)

    def add(self, tag: str) -> None:
        """What the looker sees now; not every note moves something."""
        with self.lock:
            if tag != self.tags[-1]:
                self.tags.append(tag)


@dataclass
class Polled:
    """What the subscribers were answered."""

    whole: int = 0
    unchanged: int = 0
    slowest_s: float = 0.0


def poll(apart: Apart, number: int, known: Known, done: Event) -> Polled:
    """One subscriber. Raises AssertionError for an answer that is no calendar, or an old one."""
    client, feed, polled, tag = apart.client(), apart.links[number % LINKS] + FEED, Polled(), ""
    done.wait(POLL_EVERY_S * number / 200)  # not all at one moment
    while not done.is_set():
        oldest_right, began = known.newest(), time.monotonic()
        asked = {"If_None_Match": tag} if tag and (polled.whole + polled.unchanged) % 2 else {}
        status, headers, body = client.ask(feed, **asked)
        polled.slowest_s = max(polled.slowest_s, time.monotonic() - began)
        if status == 304 and asked:
            polled.unchanged += 1
        else:
            assert status == 200 and body.endswith(b"END:VCALENDAR\r\n"), status
            tag = headers["etag"]
            polled.whole += 1
        assert known.place(tag) >= oldest_right, "an answer older than the plan before it"
        done.wait(POLL_EVERY_S)
    return polled


@dataclass
class Noted:
    """The notes sent, the page of the newest, and how long plans took to know of one."""

    sent: int = 0
    busy: int = 0
    newest: str = ""
    longest_s: float = 0.0


def look(apart: Apart, noted: Noted, known: Known, done: Event) -> None:
    """See which plans there are: whenever the newest note is known to a plan, its feed's tag."""
    seen = ""
    while not done.is_set() or seen != noted.newest:
        if seen == noted.newest:
            time.sleep(0.05)
            continue
        waited_for, began = noted.newest, time.monotonic()
        while not apart.knows(waited_for):
            time.sleep(0.2)
        known.add(apart.client().ask(apart.links[0] + FEED)[1]["etag"])
        noted.longest_s = max(noted.longest_s, time.monotonic() - began)
        seen = waited_for


def subscribers(apart: Apart, number: int, notes: int) -> None:
    """Poll while notes come in, and print what came of it."""
    known = Known([apart.client().ask(apart.links[0] + FEED)[1]["etag"]])
    noted, done, polled_out = Noted(), Event(), Event()
    start = time.monotonic()
    with ThreadPoolExecutor(number + 1) as pool:
        polls = [pool.submit(poll, apart, one, known, polled_out) for one in range(number)]
        looker = pool.submit(look, apart, noted, known, done)
        try:
            for count in range(notes):
                share = str(1 + (10 + 10 * count) % 99)
                page = apart.note(count, tree="sats-02", act="open", open=share, words=f"note {count}")
                noted.sent, noted.busy = noted.sent + (page is not None), noted.busy + (page is None)
                noted.newest = page or noted.newest
                time.sleep(max(0.0, start + NOTE_EVERY_S * (count + 1) - time.monotonic()))
            done.set()
            looker.result()
        finally:
            done.set()
            polled_out.set()
        found = [one.result() for one in polls]
    whole, unchanged = sum(one.whole for one in found), sum(one.unchanged for one in found)
    for name, value in (
        ("subscribers", f"{number}"),
        ("seconds", f"{time.monotonic() - start:.0f}"),
        ("notes taken / sent back as busy", f"{noted.sent} / {noted.busy}"),
        ("plans that moved the feed", f"{len(known.tags) - 1}"),
        ("answers whole / not changed", f"{whole} / {unchanged}"),
        ("failed or older than a plan before", "0 / 0"),
        ("slowest answer", f"{max(one.slowest_s for one in found):.2f} s"),
        ("longest until the newest note was in the feed", f"{noted.longest_s:.1f} s"),
        ("memory", f"{apart.memory_mb():.0f} MB"),
    ):
        print(f"{name:<46} {value}")


def main() -> None:
    """Both parts, on a copy of the example."""
    number, notes = map(int, sys.argv[1:3]) if len(sys.argv) == 3 else (SUBSCRIBERS, NOTES)
    with served_apart(EXAMPLE, LINKS) as apart:
        rates(apart)
        subscribers(apart, number, notes)


if __name__ == "__main__":
    main()
