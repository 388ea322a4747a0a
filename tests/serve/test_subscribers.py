"""Many poll while notes come in: each answer is a whole calendar, none older than a plan before it.

The long form is `python tests/benchmarks/serve_load.py 200 600`.
"""

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest
from example_copy import copied
from serving import Served, serving

SUBSCRIBERS = 8
OPEN = (20, 60)  # two shares open, in %, that move works


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = copied(tmp_path_factory.mktemp("served") / "trees")
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    head, _, trees = text.partition("trees:\n")  # two trees are enough, and quicker planned than twelve
    kept = re.findall(r"  - \{id: (?:sats-01|sats-02),[^}]*\{[^}]*\}\}\n", trees)
    (folder / "collection.yaml").write_text(f"{head}trees:\n{''.join(kept)}", encoding="utf-8")
    with serving(folder.parent, folder) as served:
        yield served


def test_subscribers_hear_of_every_note_and_of_nothing_older(served: Served) -> None:
    link, done = served.link("load", may_note=True), Event()
    feed = link + "/feeds/all.ics"
    known = [served.get(feed).headers["ETag"]]

    def poll() -> int:
        client, answers = served.app.test_client(), 0
        while not done.is_set():
            oldest_right = len(known) - 1
            answer = client.get(feed)
            assert answer.status_code == 200 and answer.data.endswith(b"END:VCALENDAR\r\n")
            tag = answer.headers["ETag"]
            # A tag not known yet is newer than all that are.
            assert tag not in known[:oldest_right], "older than a plan that was there before it was asked for"
            answers += 1
            done.wait(0.1)
        return answers

    with ThreadPoolExecutor(SUBSCRIBERS) as pool:
        polls = [pool.submit(poll) for _ in range(SUBSCRIBERS)]
        try:
            for share in OPEN:
                page = served.note(link, tree="sats-02", act="open", open=str(share), sure="yes")
                assert page.status_code == 200
                known.append(served.get(feed).headers["ETag"])
        finally:
            done.set()
        assert sum(one.result() for one in polls) >= SUBSCRIBERS
    assert len(set(known)) == len(known), "each note moves something"
