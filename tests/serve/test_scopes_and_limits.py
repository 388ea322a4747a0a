"""What a link may see and say, how much it may ask for, and that a held lock leaves the rest alive."""

import re
import secrets
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from http.client import HTTPConnection
from types import SimpleNamespace
from typing import Any

import pytest
from serving import SAME_ORIGIN, Served, clock, looping, serving

from care_planner.disk.write_lock import held
from care_planner.note.ground import NoteGround
from care_planner.serve import notebook as noting
from care_planner.serve.allowance import Allowance
from care_planner.serve.app import create_app
from care_planner.serve.changed import changed_by
from care_planner.serve.forms import form_token
from care_planner.serve.note_parts import Wrong
from care_planner.serve.notebook import Notebook, Sender
from care_planner.serve.patient_server import patient_server
from care_planner.serve.run_server import PROXY_OPTIONS
from care_planner.serve.scope import Scope
from care_planner.serve.service import Service
from care_planner.serve.share_links import share_add
from care_planner.serve.view_index import index_of, picture_of

COLLECTION = """\
site:
  name: Yard
  latitude: 50.8
  longitude: 4.4
  timezone: Europe/Brussels
  weather:
    monthly:
      tmin_c: [0, 0, 2, 4, 8, 11, 13, 13, 10, 7, 3, 1]
      tmax_c: [6, 7, 11, 15, 19, 22, 24, 24, 20, 15, 10, 6]
benches: {open: {}}
trees:
  - {id: maple-01, taxon: japanese-maple, bench: open, age: established, condition: strong}
  - {id: maple-02, taxon: japanese-maple, bench: open, age: established, condition: strong}
"""


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("limits") / "yard"
    (folder / "journal").mkdir(parents=True)
    (folder / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    with serving(folder.parent, folder) as served:
        yield served


def work_of(served: Served, kind: str) -> tuple[str, str]:
    """A planned work of a kind: its rule and a tree."""
    plan = served.planner.view.plan
    assert plan is not None
    task = next(task for task in plan.tasks if task.kind == "work" and task.category == kind)
    return task.rule, task.tree


def form_of(link: str) -> str:
    """A form's token, made as a page would."""
    today = clock("Europe/Brussels").date().toordinal()
    return form_token(link.split("/")[2], today, secrets.token_urlsafe(16))


def post(served: Served, link: str, **fields: str) -> Any:
    data = {"form": form_of(link), **fields}
    return served.client.post(link + "/notes", data=data, headers=SAME_ORIGIN)


def test_a_link_for_a_kind_of_work_shows_and_notes_that_work_alone(served: Served) -> None:
    link = served.link("pruner", may_note=True, work="pruning")
    rule, tree = work_of(served, "pruning")
    week = served.get(link + "/")
    assert week.status_code == 200 and f"{link}/trees" not in week.text
    assert served.get(link + "/trees").status_code == served.get(f"{link}/trees/{tree}").status_code == 404
    before = served.journal()
    for act in ("did", "skipped"):
        told = post(served, link, act=act, rule="repot", tree=tree)
        page = served.get(told.headers["Location"])
        assert "This link is for work pruning only" in page.text, act
    told = post(served, link, act="saw", stage="flush", tree=tree)
    assert "This link is for work pruning only" in served.get(told.headers["Location"]).text
    assert served.journal() == before
    told = post(served, link, act="did", rule=rule, tree=tree)
    assert "This link is for" not in served.get(told.headers["Location"]).text
    assert f"did: {rule}" in served.journal()


def test_making_a_link_says_what_it_gives_away(served: Served) -> None:
    wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
    for name, scope, said in (
        (
            "w",
            {"work": "pruning"},
            "shows works of the kind pruning, with the names, benches and days of their trees",
        ),
        (
            "t",
            {"tree": "maple-01"},
            "shows that tree with its works, notes, pictures and history; may note any",
        ),
        ("a", {}, "shows every tree with its works, notes, pictures and history; may note anything"),
    ):
        lines = share_add(served.folder, name, {**wanted, **scope}, True, "http://x", clock("UTC").date())  # type: ignore[arg-type]
        assert " ".join(map(str.strip, lines[1:])).startswith(said)
    assert Scope("tree", "x").gives_away(False).endswith("; may note nothing")


def test_while_the_journal_is_held_notes_are_kept_by_the_browser_and_pages_answer(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(noting, "WAIT_FOR_LOCK_S", 0.4)
    monkeypatch.setattr(noting, "WAIT_FOR_TURN_S", 0.4)
    link = served.link("many", may_note=True)
    forms = [
        {
            "form": served.token(link + "/trees/maple-01"),
            "act": "words",
            "words": f"held {n}",
            "tree": "maple-01",
        }
        for n in range(12)
    ]

    def send(form: dict[str, str]) -> Any:
        return served.app.test_client().post(link + "/notes", data=form, headers=SAME_ORIGIN)

    with ThreadPoolExecutor(12) as pool:
        with held(served.folder / "journal" / ".lock"):
            sent = [pool.submit(send, form) for form in forms]
            time.sleep(0.1)
            began = time.monotonic()
            assert served.get(link + "/").status_code == 200
            assert time.monotonic() - began < 5.0
            answers = [one.result(60) for one in sent]
        assert {one.status_code for one in answers} == {503}
        assert all(
            one.headers["Retry-After"] and "Your note is kept on this page" in one.text for one in answers
        )
        assert "held 3" not in served.journal()
        again = re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', answers[3].text)
        assert send(dict(again)).status_code == 303
    assert served.journal().count("held 3") == 1


def book(served: Served, ticks: Any) -> Notebook:
    return Notebook(served.folder, served.planner, lambda *_, **__: None, ticks)  # type: ignore[arg-type,return-value]


def test_wrong_forms_count_and_push_out_nobody_elses_answers(served: Served) -> None:
    inputs = served.planner.view.inputs
    assert inputs is not None
    ground, today = NoteGround(inputs.collection, inputs.rulebook), clock("UTC").date()
    notebook = book(served, lambda: 1.0)
    assert notebook.take(Sender("anna", "anna"), "k", Wrong("first"), ground, today).wrong == ("first",)
    many = [
        notebook.take(Sender("ben", "ben"), f"k{n}", Wrong("x"), ground, today).too_many for n in range(100)
    ]
    assert many == [False] * noting.NOTES_AT_ONCE + [True] * (100 - noting.NOTES_AT_ONCE)
    ticks = iter(range(0, 10**9, 60))
    notebook = book(served, lambda: float(next(ticks)))
    notebook.take(Sender("anna", "anna"), "k", Wrong("first"), ground, today)
    for n in range(3 * noting.OUTCOMES_KEPT):
        notebook.take(Sender("ben", "ben"), f"k{n}", Wrong("x"), ground, today)
    assert notebook.outcome("anna", "k") is not None and notebook.outcome("ben", "k0") is None


def test_a_wrong_clock_notes_nothing(served: Served) -> None:
    inputs = served.planner.view.inputs
    assert inputs is not None
    form = SimpleNamespace(parts=(), sentences=())
    ground = NoteGround(inputs.collection, inputs.rulebook)
    outcome = book(served, lambda: 1.0).take(
        Sender("a", "a"), "k", form, ground, clock("UTC").date().replace(year=1970)  # type: ignore[arg-type]
    )  # fmt: skip
    assert outcome.wrong == ("The clock of the machine this is served from is wrong.",)


def test_pages_of_one_link_are_limited_and_feeds_are_not(served: Served) -> None:
    allowance = Allowance(3, 10.0)
    assert [allowance.takes("a", 0.0) for _ in range(4)] == [True, True, True, False]
    assert allowance.takes("b", 0.0) and allowance.takes("a", 10.0) and not allowance.takes("a", 10.5)
    link, other = served.link("reader"), served.link("other")
    service = Service(
        served.folder, clock, served.planner, book(served, lambda: 1.0), 0.0, reads=Allowance(3, 10.0)
    )
    client = create_app(service).test_client()
    assert [client.get(link + "/").status_code for _ in range(4)] == [200, 200, 200, 429]
    assert client.get(other + "/").status_code == client.get(link + "/feeds/all.ics").status_code == 200


def test_of_a_replan_only_what_it_changed_is_kept(served: Served) -> None:
    view = served.planner.view
    assert view.plan is not None
    from care_planner.folder.read_previous import read_previous

    previous, _ = read_previous(served.folder / "calendar")
    same = changed_by(1, previous, view.plan)
    assert not same.previous.trees and not same.plan.tasks and not same.plan.stages
    moved = [replace(t, day=t.day + 1) if t.tree == "maple-02" else t for t in view.plan.tasks]
    other = changed_by(2, previous, replace(view.plan, tasks=moved))
    assert set(other.previous.trees) == {"maple-02"} and {t.tree for t in other.plan.tasks} == {"maple-02"}


def test_pictures_keep_no_old_state_alive(served: Served) -> None:
    import gc
    import weakref

    view = replace(served.planner.view)
    assert view.plan is not None
    picture_of(view, "maple-01", view.plan.season, view.plan.today)
    old = weakref.ref(view)
    del view
    for _ in range(4):  # newer states take its place
        index_of(replace(served.planner.view))
    gc.collect()
    assert old() is None


def test_what_a_client_says_of_the_host_is_not_believed() -> None:
    seen: list[dict[str, Any]] = []

    def app(environ: dict[str, Any], start: Any) -> list[bytes]:
        seen.append(environ)
        start("200 OK", [("Content-Length", "0")])
        return [b""]

    server = patient_server(app, time.monotonic, 10, host="127.0.0.1", port=0, threads=1, **PROXY_OPTIONS)
    with looping(server) as port:
        asking = HTTPConnection("127.0.0.1", port, timeout=30)
        headers = {"Host": "trees.example", "X-Forwarded-Host": "evil.example", "X-Forwarded-Proto": "https"}
        asking.request("GET", "/", headers=headers)
        assert asking.getresponse().status == 200
        asking.close()
    assert seen[0]["HTTP_HOST"] == "trees.example" and "evil" not in repr(seen[0])
    assert seen[0]["wsgi.url_scheme"] == "https"
