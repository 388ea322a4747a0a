"""The pages: what they show, what a note does, what stays text; contrast and labels without a browser."""

import re
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from example_copy import copied
from serving import SAME_ORIGIN, Served, serving

PAGES = ("/", "/trees", "/trees/sats-02", "/trees/sats-02?season=2028", "/calendar")
NAME = '"><script>alert(1)</script>{{ 7*7 }}&amp;'


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = copied(tmp_path_factory.mktemp("pages") / "trees")
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    named = text.replace("{id: sats-02,", "{id: sats-02, name: '" + NAME + "',")
    (folder / "collection.yaml").write_text(named, encoding="utf-8")
    with serving(folder.parent, folder) as served:
        yield served


@pytest.fixture(scope="module")
def link(served: Served) -> str:
    return served.link("anna", may_note=True)


def test_the_day_comes_first_then_the_walk_the_looks_and_the_week(served: Served, link: str) -> None:
    text = served.get(link + "/").text
    heads = (
        ">Today, ",
        ">Bench walk, ",
        ">On the walk, note what you see",
        ">As the weather turns",
        ">Tomorrow, ",
        ">This week, ",
    )
    places = [text.index(words) for words in heads]
    assert places == sorted(places)
    assert re.search(r"<legend>Bench frost-pocket</legend>.*<legend>Bench open</legend>", text, re.DOTALL)
    assert re.search(r'<button class="main" name="act" value="did">Done', text)
    assert re.search(r'<button class="main" name="act" value="saw [a-z0-9-]+">Seen', text)


def test_a_first_flower_is_noted_and_what_moved_is_shown(served: Served, link: str) -> None:
    before = served.planner.view.plan
    page = served.note(link, act="saw", stage="first-flower", tree="sats-02", on="2027-05-27", page="sats-02")
    assert page.status_code == 200 and "Noted: sats-02: First flower open, seen, Thu 27 May" in page.text
    assert "What moved" in page.text and "sats-02:" in page.text
    assert "seen 27 May" in page.text  # and in the picture
    after = served.planner.view.plan
    assert before is not None and after is not None
    days = [{t.key: t.day for t in p.tasks if t.tree == "sats-02"} for p in (before, after)]
    assert days[0] != days[1]
    assert "name: sats" not in served.journal() and "saw: first-flower" in served.journal()


def test_a_note_is_taken_back(served: Served, link: str) -> None:
    page = served.note(link, act="did", rule="prune-after-bloom", tree="sats-03").text
    entry = re.search(r'name="entry" value="([^"]+)"', page)
    assert entry is not None and f"id: {entry[1]}" in served.journal()
    assert "Taken back: sats-03: Done: " in served.note(link, act="take-back", entry=entry[1]).text
    assert f"takes_back: {entry[1]}" in served.journal()
    other = served.link("other", may_note=True)
    assert "can no longer be taken back here" in served.note(other, act="take-back", entry=entry[1]).text


def test_what_earlier_notes_speak_against_is_asked_first(served: Served, link: str) -> None:
    served.note(link, act="open", open="60", tree="sats-01", on="2027-05-27")
    asked = served.note(link, act="open", open="20", tree="sats-01")
    assert "Is that right?" in asked.text and "20%" not in served.journal()
    fields = dict(re.findall(r'name="([\w-]+)" value="([^"]*)"', asked.text))
    done = served.client.post(
        link + "/notes", data={**fields, "sure": "yes"}, headers=SAME_ORIGIN, follow_redirects=True
    )
    assert "20 % of the flowers open" in done.text and "open: 0.2" in served.journal()


def test_a_form_sent_with_another_answer_is_another_note(served: Served, link: str) -> None:
    token = served.token(link + "/")
    for rule in ("summer-feed", "lace-bug-look"):
        data = {"form": token, "act": "did", "rule": rule, "tree": "sats-04"}
        served.client.post(link + "/notes", data=data, headers=SAME_ORIGIN)
    assert len(re.findall(r"tree: sats-04, did: (?:summer-feed|lace-bug-look)", served.journal())) == 2


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"act": "did", "rule": "repot"}, "No tree was ticked"),
        ({"act": "did", "rule": "repott", "tree": "sats-01"}, "did you mean repot?"),
        ({"act": "saw", "stage": "first-flowr", "tree": "sats-01"}, "did you mean first-flower?"),
        ({"act": "open", "open": "140", "tree": "sats-01"}, "a number from 0 to 100"),
        ({"act": "did", "rule": "repot", "tree": "sats-01", "on": "2027-05-30"}, "a date up to today"),
        ({"act": "did", "rule": "repot", "tree": "sats-01", "on": "soon"}, "a date up to today"),
        ({"act": "words", "tree": "sats-01"}, "Nothing was said"),
        ({"act": "dance", "tree": "sats-01"}, "Press one of the buttons"),
        ({"tree": "../../etc"}, "No tree was ticked"),
    ],
)
def test_mistakes_are_told_and_nothing_is_noted(
    served: Served, link: str, fields: dict[str, str], said: str
) -> None:
    before = served.journal()
    page = served.note(link, **fields).text.replace("&#39;", "'")
    assert "Not noted:" in page and said in page
    assert served.journal() == before


def test_a_scoped_link_shows_and_notes_only_its_own(served: Served) -> None:
    own = served.link("pines", may_note=True, tree="pine-01")
    assert served.get(own + "/trees/sats-01").status_code == 404
    text = "".join(served.get(own + path).text for path in ("/", "/trees", "/calendar"))
    assert "pine-01" in text and "sats-" not in text and "maple-" not in text
    assert "No tree was ticked" in served.note(own, act="words", words="hello there", tree="sats-01").text


def test_a_link_that_only_reads_has_no_forms(served: Served) -> None:
    reads = served.link("reader")
    assert all('method="post"' not in served.get(reads + path).text for path in PAGES)


def test_names_stay_text(served: Served, link: str) -> None:
    for path in PAGES:
        text = served.get(link + path).text
        assert "<script>alert" not in text and "49&" not in text
    assert "&#34;&gt;&lt;script&gt;" in served.get(link + "/trees").text


def test_a_mistake_in_the_files_keeps_the_last_good_plan_and_says_so(served: Served, link: str) -> None:
    path = served.folder / "journal" / "wrong.yaml"
    served.planner.wait(served.planner.ask(), 240)
    good = served.get(link + "/feeds/all.ics").data
    path.write_text("- {date: 2027-05-01, tree: sats-01, saw: first-flowwer}\n", encoding="utf-8")
    try:
        served.planner.wait(served.planner.ask(), 240)
        text = served.get(link + "/").text
        assert "A newer one could not be made" in text and "journal/wrong.yaml:1" in text
        assert "journal/wrong" not in served.get(served.link("part", bench="open") + "/").text
        assert served.get(link + "/feeds/all.ics").data == good
    finally:
        path.unlink()
    served.planner.wait(served.planner.ask(), 240)
    assert "could not be made" not in served.get(link + "/").text


class _Labels(HTMLParser):
    """Controls without a name, ids given twice, headings that skip a level, pictures without words."""

    def __init__(self) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.ids: set[str] = set()
        self.labelled: set[str] = set()
        self.controls: list[tuple[str, bool]] = []
        self.level = 0
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = dict(attrs)
        name = held.get("id")
        if name:
            if name in self.ids:
                self.faults.append(f"two of id {name}")
            self.ids.add(name)
        if tag == "label":
            self.open.append("label")
            self.labelled.add(held.get("for") or "")
        if tag in ("input", "select") and held.get("type") != "hidden":
            self.controls.append((name or "", "label" in self.open))
        if re.fullmatch("h[1-6]", tag):
            level = int(tag[1])
            if level > self.level + 1:
                self.faults.append(f"{tag} after h{self.level}")
            self.level = level
        if tag == "svg" and held.get("role") == "img" and not held.get("aria-label"):
            self.faults.append("a picture without words")

    def handle_endtag(self, tag: str) -> None:
        if tag == "label":
            self.open.remove("label")

    def all_faults(self) -> list[str]:
        bare = [name for name, inside in self.controls if not inside and name not in self.labelled]
        return self.faults + [f"control {name!r} without a label" for name in bare]


def label_faults(page: str) -> list[str]:
    labels = _Labels()
    labels.feed(page)
    return labels.all_faults()


@pytest.mark.parametrize("path", PAGES)
def test_everything_has_a_name_for_a_screen_reader(served: Served, link: str, path: str) -> None:
    page = served.get(link + path).text
    assert label_faults(page) == []
    assert '<html lang="en">' in page and page.count("<h1") == 1 and "<main" in page


def test_what_has_no_name_is_found() -> None:
    page = '<h1>A</h1><h3 id="a">B</h3><input id="a"><svg role="img"></svg>'
    assert label_faults(page) == [
        "h3 after h1", "two of id a", "a picture without words", "control 'a' without a label"
    ]  # fmt: skip


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_reference_contrast() -> None:
    """Black on white is 21 to 1; #767676 passes AA on white and #777777 does not (WCAG technique G18)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_contrast_is_aa_in_both_modes(mode: str) -> None:
    css = (files("care_planner.serve") / "static" / "care.css").read_text(encoding="utf-8")
    schemes = re.findall(r"--([\w-]+): (#[0-9a-f]{6});", css.split("@media print")[0])
    half = len(schemes) // 2
    colours = dict(schemes[:half] if mode == "light" else schemes[half:])
    grounds = ("paper", "card", "late-ground", "look-ground", "good-ground")
    for ground in grounds:
        for text in ("ink", "quiet", "deep", "late", "look"):
            assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
        assert contrast(colours["edge"], colours[ground]) >= 3, ground  # controls: 1.4.11
        assert contrast(colours["mark"], colours[ground]) >= 3
    assert contrast(colours["on-deep"], colours["deep"]) >= 4.5
    for ground in ("rest", "growth", "flower-wide"):
        assert contrast(colours["mark"], colours[ground]) >= 3
    for ground in ("rest", "growth"):
        assert contrast(colours["flower"], colours[ground]) >= 3


def sent(served: Served, link: str, tree: str, **fields: str) -> str:
    """The page that a form of a tree's page leads to, without waiting for the plan."""
    data = {"form": served.token(f"{link}/trees/{tree}"), "tree": tree, "page": tree, **fields}
    answer = served.client.post(link + "/notes", data=data, headers=SAME_ORIGIN)
    assert answer.status_code == 303
    return served.get(answer.headers["Location"]).text


def test_a_tree_that_left_can_come_back(served: Served, link: str) -> None:
    assert "Noted: maple-03: sold, Sat 29 May" in sent(served, link, "maple-03", act="left sold")
    assert served.planner.wait(served.planner.ask(), 300.0)
    page = served.get(link + "/trees/maple-03").text
    assert "Sold on 29 May 2027. Its notes stay as history." in page and ">Note something<" not in page
    entry = re.search(r'name="entry" value="([^"]+)"', page)
    assert entry is not None
    assert "Taken back: maple-03: Sold" in sent(served, link, "maple-02", act="take-back", entry=entry[1])
    assert served.planner.wait(served.planner.ask(), 300.0)
    assert ">Note something<" in served.get(link + "/trees/maple-03").text


def test_a_weekend_without_work_is_noted_in_one_press_and_can_be_undone(served: Served, link: str) -> None:
    def works(start: str) -> int:
        assert served.planner.view.plan is not None
        days = {date.fromisoformat(start).toordinal() + more for more in (0, 1)}
        tasks = served.planner.view.plan.tasks
        return sum(t.day in days and t.way == "work" and t.kind == "work" and not t.done for t in tasks)

    assert served.planner.wait(served.planner.ask(), 300.0)
    before = works("2027-05-29")
    assert before and ">Not this weekend</button>" in served.get(link + "/").text
    page = served.note(link, act="days-off weekend").text
    told = "The whole garden: no work from Sat 29 May to Sun 30 May, noted on Sat 29 May"
    assert f"Noted: {told}" in page and works("2027-05-29") == 0
    assert "No work from Sat 29 May to Sun 30 May" in served.get(f"{link}/trees/pine-01").text
    entry = re.search(r'name="entry" value="([^"]+)"', page)
    assert entry is not None
    assert "Taken back: " in served.note(link, act="take-back", entry=entry[1]).text
    assert works("2027-05-29") == before


def test_pages_lead_to_pages_and_people_never_to_files_or_commands(served: Served) -> None:
    link = served.link("walker", may_note=True)
    for path in ("/", "/trees", "/trees/sats-02", "/calendar", "/water", "/nights"):
        text = served.get(link + path).text
        assert not re.search(r"care-planner |collection\.yaml|README", text), path


def test_what_was_left_undone_is_said_to_be_not_done(served: Served) -> None:
    link = served.link("doer", may_note=True)
    page = served.note(link, act="skipped", rule="repot", tree="sats-02")
    assert "Repot, not done" in page.text and "not needed" not in page.text.lower()
    tree = served.get(link + "/trees/sats-02").text
    assert "Not done: Repot" in tree and "Will not be done" in tree
    assert '<optgroup label="Stages of its year">' in tree and '<optgroup label="Signs' in tree
