"""A server under hostile requests while notes come in and files are broken and mended; its memory over notes.

Run from the project's root: python tests/benchmarks/serve_attacked.py [REQUESTS [NOTES [COLLECTION]]]

Without numbers 20,000 requests over raw sockets on a copy of the example, then 500 notes, each planned with,
on a copy of the collection (again the example where none is named). The server is a process of its own on
loopback. Ends with exit code 1 where an answer was 500, where one took over two seconds both of the clock and
of the server's processor, or where the server went.
"""

import random
import re
import socket
import sys
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Lock, Thread

sys.path.insert(0, str(Path(__file__).parents[1] / "hostile"))

from hostile_requests import request
from served_apart import EXAMPLE, Apart, served_apart, until

SLOW_S = 2.0
LINKS = 40  # a link has its allowance of pages and notes; one alone would mostly be told "too many"
PARTS = 10
BREAK_EVERY = 50
SENDERS = 6
NOTE_EVERY_S = 5.0


def ask(port: int, data: bytes) -> int:
    """The status of the answer; 0 where the server only closed."""
    with socket.create_connection(("127.0.0.1", port), 60) as one:
        try:
            one.sendall(data)
            got = one.recv(4096)
            while one.recv(65536):
                pass
        except ConnectionError:  # what was too much was not read to its end
            return 0
    return int(got[9:12]) if got.startswith(b"HTTP/1.") else 0


def disturb(apart: Apart, done: Event, answers: Counter[int]) -> None:
    """Break a file and mend it, again and again, some requests apart."""
    folder, chance, wanted = apart.folder, random.Random(2), 0

    def some_later() -> None:
        nonlocal wanted
        wanted += BREAK_EVERY
        while sum(answers.values()) < wanted and not done.wait(0.1):
            pass

    while not done.is_set():
        files = [
            folder / "collection.yaml",
            folder / ".shares.json",
            *(folder / "journal").glob("[!n]*.yaml"),
        ]
        path = chance.choice(sorted(files))  # but for the journal of this season, which grows meanwhile
        good = path.read_bytes()
        path.write_bytes(good[: chance.randrange(len(good))])
        some_later()
        path.write_bytes(good)
        some_later()


def note_beside(apart: Apart, done: Event, noted: Counter[str]) -> None:
    """A note of a few words every five seconds; what the server said to it."""
    number = 0
    while not done.wait(NOTE_EVERY_S):
        number += 1
        try:
            page = apart.note(number, tree="sats-02", words=f"beside {number}")
            noted["303" if page else "503"] += 1
        except (AssertionError, OSError) as said:
            noted[str(said)[:3]] += 1


@dataclass
class Answered:
    """What a part of the requests came to; `all` counts those before too."""

    all: Counter[int]
    statuses: Counter[int] = field(default_factory=Counter)
    slowest_s: float = 0.0
    worst_s: float = 0.0
    bad: list[str] = field(default_factory=list)
    lock: Lock = field(default_factory=Lock)

    def ask(self, apart: Apart, data: bytes) -> None:
        """Send a request and judge the answer."""
        began, worked = time.monotonic(), apart.processor_s()
        status = ask(apart.port, data)
        took, worked = time.monotonic() - began, apart.processor_s() - worked
        if b": chunked" in data or status == 100:
            took = 0.0  # it waited for the rest of ours
        with self.lock:
            self.statuses[status] += 1
            self.all[status] += 1
            self.slowest_s, self.worst_s = max(self.slowest_s, took), max(self.worst_s, min(took, worked))
        if status == 500 or min(took, worked) > SLOW_S:
            self.bad.append(f"{status} after {took:.1f} s: {data[:300]!r}")


def tokens_of(apart: Apart) -> dict[str, str]:
    """A form's token for each link."""
    pages = {link: apart.client().ask(link)[2].decode() for link in apart.links}
    found = {link: re.search(r'name="form" value="([^"]+)"', page) for link, page in pages.items()}
    return {link: one[1] for link, one in found.items() if one is not None}


def fuzz(apart: Apart, number: int) -> bool:
    """Hostile requests by a few senders; whether all went well."""
    whole, bad = Counter[int](), list[str]()
    done, noted, tokens = Event(), Counter[str](), tokens_of(apart)
    others = [Thread(target=disturb, args=(apart, done, whole))]
    others += [Thread(target=note_beside, args=(apart, done, noted))]
    for one in others:
        one.start()
    print(f"{'requests':>8} {'slowest':>8} {'of the processor':>17} {'memory':>9}  answers")

    def send(answered: Answered, seed: int, share: int) -> None:
        chance = random.Random(seed)
        for _ in range(share):
            link = chance.choice(apart.links)
            answered.ask(apart, request(chance, link, tokens[link]))

    with ThreadPoolExecutor(SENDERS) as pool:
        for part in range(PARTS):
            answered = Answered(whole)
            share = len(range(part, number, PARTS))
            sent = [
                pool.submit(send, answered, part * SENDERS + one, len(range(one, share, SENDERS)))
                for one in range(SENDERS)
            ]
            for one in sent:
                one.result()
            bad += answered.bad
            statuses = ", ".join(
                f"{times} of {status}" for status, times in sorted(answered.statuses.items())
            )
            print(
                f"{sum(whole.values()):>8} {answered.slowest_s:>6.2f} s {answered.worst_s:>15.2f} s "
                f"{apart.memory_mb():>6.0f} MB  {statuses}",
                flush=True,
            )
    done.set()
    for one in others:
        one.join()
    print(f"all {sum(whole.values())}: {whole[500]} answers 500, {len(bad)} bad; notes beside: {dict(noted)}")
    print("\n".join(bad[:20]))
    return not bad


def notes(apart: Apart, number: int) -> None:
    """So many notes, the plan waited for after each; the memory between them."""
    found = re.search(r"id: ([\w-]+), taxon", (apart.folder / "collection.yaml").read_text(encoding="utf-8"))
    assert found is not None
    print(f"{'notes':>8} {'now':>9} {'most':>9}   of memory")
    print(f"{0:>8} {apart.memory_mb():>6.0f} MB {apart.memory_mb('VmHWM'):>6.0f} MB", flush=True)
    for count in range(number):
        page = None
        while page is None:
            share = str(1 + 7 * count % 99)
            page = apart.note(
                count, tree=found[1], page=found[1], act="open", open=share, words=f"note {count}"
            )
        until(lambda page=page: apart.knows(page))
        if (count + 1) % max(1, number // PARTS) == 0:
            print(
                f"{count + 1:>8} {apart.memory_mb():>6.0f} MB {apart.memory_mb('VmHWM'):>6.0f} MB", flush=True
            )


def main() -> None:
    """Both parts."""
    asked, noted = [*map(int, sys.argv[1:3]), *(20_000, 500)[len(sys.argv[1:3]) :]]
    original = Path(sys.argv[3]) if len(sys.argv) > 3 else EXAMPLE
    well = True
    if asked:
        with served_apart(EXAMPLE, LINKS) as apart:
            well = fuzz(apart, asked)
    if noted:
        with served_apart(original, LINKS) as apart:
            notes(apart, noted)
    sys.exit(0 if well else 1)


if __name__ == "__main__":
    main()
