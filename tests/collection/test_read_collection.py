"""A collection's file: what it may say, and the whole text of every message about what it may not."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.collection.model import Collection
from care_planner.collection.read_collection import read_collection
from care_planner.collection.site import MonthlyWeather, StationWeather
from care_planner.typed_yaml.read_yaml import parse_yaml, validate

HEAD = """\
site: {name: Yard, latitude: 37.75, longitude: 128.89, elevation_m: 26, timezone: Asia/Seoul, weather: w.csv}
benches: {open: {}, frost-pocket: {offset_c: -2.0}, shed: {floor_c: 2.0, vent_c: 8.0}}
people: {days: [sat, sun], away: [{from: 2027-06-05, to: 2027-06-14}]}
risk: {frost: 0.1}
trees:
"""
TREE = """\
  - {id: sats-01, taxon: satsuki-azalea, bench: open, winter_bench: shed, goal: vigour, age: established,
     condition: strong}
"""
LABEL = "a name of letters, digits, blanks and hyphens, 40 characters at most"
SLUG = "a name of a-z, 0-9 and hyphens, starting with a letter or digit, 64 characters at most"


def put(folder: Path, text: str) -> Path:
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    return folder


def read(folder: Path, text: str) -> Collection:
    collection, _, problems = read_collection(put(folder, text))
    assert collection is not None, "\n".join(map(str, problems))
    return collection


def complaints(folder: Path, text: str) -> list[str]:
    collection, _, problems = read_collection(put(folder, text))
    assert collection is None
    return [str(problem) for problem in problems]


def about_tree(folder: Path, text: str) -> list[str]:
    """Messages about one tree with `text` added, on line 6."""
    tree = f"  - {{id: a, taxon: t, bench: open, {text}}}\n"
    return [said.removeprefix("collection.yaml:6: ") for said in complaints(folder, HEAD + tree)]


def test_the_documented_form(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + TREE)
    assert (found.site.latitude, found.site.timezone, found.site.weather) == (37.75, "Asia/Seoul", "w.csv")
    assert found.benches["frost-pocket"].offset_c == -2.0
    assert (found.benches["shed"].floor_c, found.benches["shed"].vent_c) == (2.0, 8.0)
    assert found.risk.frost == 0.1 and found.calendar.alarm_hours_before is None
    tree = found.trees[0]
    assert (tree.id, tree.taxon, tree.bench, tree.winter_bench) == (
        "sats-01",
        "satsuki-azalea",
        "open",
        "shed",
    )
    assert (tree.goal_in(2027), tree.age, tree.condition) == ("vigour", "established", "strong")


def test_what_is_not_told_stays_unknown(tmp_path: Path) -> None:
    tree = read(tmp_path, HEAD + "  - {id: a, taxon: t, bench: open}\n").trees[0]
    assert (tree.age, tree.condition, tree.refined, tree.multicoloured, tree.wired) == (None,) * 5
    assert (tree.goal_in(2027), tree.size, tree.count) == ("balanced", "small", 1)


def test_every_optional_fact_of_a_tree(tmp_path: Path) -> None:
    tree = read(
        tmp_path,
        HEAD
        + """\
  - id: a
    taxon: t
    bench: open
    name: "O'Hara <b> ; \\\\, x"
    goal: {2027: vigour, 2028: flowers}
    size: large
    count: 24
    pot: {litres: 5, depth_cm: 8.5}
    acquired: 2026-6-15
    known_from: 2027-01-01
    last_repot: {date: 2025-03-20, roots_removed: 25%, tied_in: yes}
    repot_every_years: 3
    season_of_variety: late
    remembered_bloom: {2026: 2026-06-02}
    frost_limit_c: -3
    refined: true
    multicoloured: no
    wired: false
    until: {date: 2027-04-01, why: sold}
""",
    ).trees[0]
    assert tree.name == "O'Hara <b> ; \\, x"
    assert [tree.goal_in(season) for season in (2026, 2027, 2028)] == ["balanced", "vigour", "flowers"]
    assert tree.last_repot is not None and tree.until is not None and tree.pot is not None
    assert (tree.last_repot.date, tree.last_repot.roots_removed) == (date(2025, 3, 20), 0.25)
    assert tree.last_repot.tied_in is True and tree.multicoloured is False
    assert tree.remembered_bloom == {2026: date(2026, 6, 2)}
    assert tree.acquired == date(2026, 6, 15) and tree.until.why == "sold"
    assert {tree: 1}[tree] == 1


def test_a_tree_may_come_be_known_be_repotted_and_go_on_one_day(tmp_path: Path) -> None:
    day = "2026-06-01"
    facts = (
        f"acquired: {day}, known_from: {day}, last_repot: {{date: {day}}}, until: {{date: {day}, why: lent}}"
    )
    assert read(tmp_path, f"{HEAD}  - {{id: a, taxon: t, bench: open, {facts}}}\n").trees[0].known_from


@pytest.mark.parametrize(
    ("weather", "kind"),
    [
        ("{meteostat: nearest}", StationWeather),
        ('{meteostat: "06451"}', StationWeather),
        (f"{{monthly: {{tmin_c: {[0] * 12}, tmax_c: {[9.5] * 12}}}}}", MonthlyWeather),
        ("data/daily.csv", str),
    ],
)
def test_ways_to_give_the_weather(tmp_path: Path, weather: str, kind: type) -> None:
    assert isinstance(read(tmp_path, HEAD.replace("w.csv", weather) + TREE).site.weather, kind)


def test_a_bench_with_nothing_after_it_is_like_the_record(tmp_path: Path) -> None:
    head = HEAD.replace("open: {}", "open: ")
    assert read(tmp_path, head + TREE).benches["open"].offset_c == 0


def test_zero_latitude_and_longitude_are_a_place(tmp_path: Path) -> None:
    head = HEAD.replace("37.75", "0").replace("128.89", "0")
    assert read(tmp_path, head + TREE).site.latitude == 0


def test_a_collection_without_trees_yet(tmp_path: Path) -> None:
    assert read(tmp_path, HEAD.replace("trees:", "trees: []")).trees == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("age: weak", "age is 'weak', which is a condition; allowed: young, established"),
        ("condition: young", "condition is 'young', which is an age; allowed: strong, weak"),
        ("age: old", "age is 'old'; allowed: established, young"),
        ("goal: flower", "goal is 'flower'; did you mean flowers?"),
        ("goal: {2027: vigor}", "goal.2027 is 'vigor'; did you mean vigour?"),
        ("gaol: vigour", "unknown key 'gaol'; did you mean goal?"),
        ("size: big", "size is 'big'; allowed: large, small"),
        ("count: 0", "count is '0'; allowed: 1 to 100000"),
        ("count: many", "count is 'many', not a whole number; allowed: 1 to 100000"),
        ("winter_bench: shde", "winter_bench 'shde' is unknown; did you mean shed?"),
        ("frost_limit_c: cold", "frost_limit_c is 'cold', not a number; allowed: -40 to 15"),
        ("frost_limit_c: nan", "frost_limit_c is 'nan', not a number; allowed: -40 to 15"),
        ("frost_limit_c: 28", "frost_limit_c is '28'; allowed: -40 to 15"),
        ("acquired: 2027-02-30", "acquired is '2027-02-30', a day that does not exist; "
         "allowed: a date such as 2027-03-01"),
        ("last_repot: {date: spring}", "last_repot.date is 'spring', not a date; "
         "allowed: a date such as 2027-03-01"),
        ("last_repot: {date: 2025-03-20, roots_removed: 25}",
         "last_repot.roots_removed is '25'; allowed: 0 to 1, or 0% to 100%"),
        (
            "until: {date: 2027-04-01, why: gone}",
            "until.why is 'gone'; allowed: dead, given-away, lent, sold",
        ),
        ("until: {why: sold}", "until.date is missing; needed: a date such as 2027-03-01"),
        ("pot: {litres: -1}", "pot.litres is '-1'; allowed: more than 0, up to 10000"),
        ("pot: 5", "pot is '5', not a mapping; allowed: a mapping with litres, depth_cm, width_cm, soil"),
        ('name: "a\\nb"', "name is 'a\\nb', with a line break or control character; "
         "allowed: text on one line"),
        ('name: "a\\x1b[2J"', "name is 'a\\x1b[2J', with a line break or control character; "
         "allowed: text on one line"),
        ("remembered_bloom: {26: 2026-06-02}", "'26' cannot be a key of remembered_bloom; "
         "allowed: the year in which its spring starts, such as 2027"),
        ("remembered_bloom: {2026: 2025-06-02}", "remembered_bloom of 2026 is 2025-06-02, a day of "
         "season 2025; a season is named by the year in which its spring starts"),
        ("known_from: 2026-01-01, acquired: 2026-06-01",
         "known_from is 2026-01-01, before the tree was acquired on 2026-06-01; allowed: that day or later"),
        ("acquired: 2026-06-01, until: {date: 2026-05-31, why: sold}",
         "acquired is 2026-06-01, after the tree left on 2026-05-31; allowed: that day or earlier"),
    ],
)  # fmt: skip
def test_one_mistake_about_a_tree(tmp_path: Path, text: str, said: str) -> None:
    assert about_tree(tmp_path, text) == [said]


@pytest.mark.parametrize(
    "name", ["../x", "a/b", ".hidden", "Sats", "a b", "-a", "x" * 65, '"a\\nb"', '"a\\0"', "con:", "é"]
)
def test_ids_that_would_not_make_a_file_name(tmp_path: Path, name: str) -> None:
    written = name if name.startswith('"') else repr(name)
    said = complaints(tmp_path, f"{HEAD}  - {{id: {written}, taxon: t, bench: open}}\n")
    assert len(said) == 1
    assert said[0].startswith("collection.yaml:6: id is ") and said[0].endswith(f"; allowed: {SLUG}")


def test_a_tree_that_lacks_what_is_needed(tmp_path: Path) -> None:
    assert complaints(tmp_path, HEAD + "  - {age: young}\n") == [
        f"collection.yaml:6: bench is missing; needed: {LABEL}",
        f"collection.yaml:6: id is missing; needed: {SLUG}",
        f"collection.yaml:6: taxon is missing; needed: {SLUG}",
    ]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("37.75", "abc", "1: site.latitude is 'abc', not a number; allowed: -90 to 90"),
        ("37.75", "91", "1: site.latitude is '91'; allowed: -90 to 90"),
        ("37.75", "'37,75'", "1: site.latitude is '37,75', not a number; write 37.75"),
        ("latitude: 37.75, ", "", "1: site.latitude is missing; needed: -90 to 90"),
        ("Asia/Seoul", "Asia/Soul", "1: site.timezone 'Asia/Soul' is unknown; did you mean Asia/Seoul?"),
        ("Asia/Seoul", "Europe/Ghent",
         "1: site.timezone 'Europe/Ghent' is unknown; did you mean Europe/Brussels?"),
        ("Asia/Seoul", "../etc/passwd", "1: site.timezone '../etc/passwd' is unknown; "
         "allowed: an IANA time zone such as Europe/Brussels"),
        ("Asia/Seoul", "", "1: site.timezone is empty; allowed: an IANA time zone such as Europe/Brussels"),
        ("w.csv", "../w.csv", "1: site.weather is '../w.csv', which leads out of the folder; "
         "allowed: the name of a file inside the folder"),
        ("w.csv", "/etc/passwd", "1: site.weather is '/etc/passwd', which leads out of the folder; "
         "allowed: the name of a file inside the folder"),
        ("w.csv", "a\\\\b.csv", "1: site.weather is 'a\\\\\\\\b.csv', which leads out of the folder; "
         "allowed: the name of a file inside the folder"),
        ("w.csv", "{meteostat: 'x y'}", "1: site.weather.meteostat is 'x y'; "
         "allowed: nearest, or a station's id such as 06451"),
        ("w.csv", "{montly: {}}", "1: unknown key 'montly'; did you mean monthly?"),
        ("w.csv", "", "1: site.weather is empty; "
         "allowed: a CSV file inside the folder, {monthly: ...}, {meteostat: ...}, "
         "{growing: FILE}, or a list such as [weather.csv, {meteostat: nearest}]"),
        ("frost-pocket: {offset_c: -2.0}", "frost-pocket: {offset: -2.0}",
         "2: unknown key 'offset'; did you mean offset_c?"),
        ("floor_c: 2.0", "floor_c: 9", "2: benches.shed: floor_c is 9, above vent_c of 8; "
         "allowed: a floor at or below the vent"),
        ("floor_c: 2.0", "floor_c: warm", "2: benches.shed.floor_c is 'warm', not a number; "
         "allowed: -30 to 30"),
        ("frost-pocket:", "frost/pocket:", f"2: 'frost/pocket' cannot be a key of benches; allowed: {LABEL}"),
        ("[sat, sun]", "[sat, sut]", "3: people.days item 2 is 'sut'; did you mean sun?"),
        ("[sat, sun]", "sat", "3: people.days is 'sat', not a list; "
         "allowed: a list of mon, tue, wed, thu, fri, sat, sun"),
        ("[sat, sun]", "[]", "3: people.days is an empty list; allowed: at least 1"),
        ("to: 2027-06-14", "to: 2027-06-04", "3: from is 2027-06-05, after to, which is 2027-06-04; "
         "allowed: the first day away, then the last"),
        ("to: 2027-06-14", "until: 2027-06-04", "3: to is missing; needed: a date such as 2027-03-01"),
        ("away:", "awya:", "3: unknown key 'awya'; did you mean away?"),
        ("frost: 0.1", "frost: 10", "4: risk.frost is '10'; allowed: 0 to 1, or 0% to 100%"),
        ("risk: {frost: 0.1}", "calendar: {alarm_hours_before: -15}",
         "4: calendar.alarm_hours_before is '-15'; allowed: more than 0, up to 720"),
        ("risk: {frost: 0.1}", "calendar: {alarm_hours_before: 0.0001}",
         "4: calendar.alarm_hours_before is '0.0001', which is no whole number of minutes; "
         "allowed: hours such as 15 or 0.5"),
        ("risk: {frost: 0.1}", "calendar: {link: 'javascript:x'}",
         "4: calendar.link is 'javascript:x', which is no address; "
         "allowed: an address such as https://trees.example/"),
        ("risk:", "rsik:", "4: unknown key 'rsik'; did you mean risk?"),
    ],
)  # fmt: skip
def test_one_mistake_about_the_rest(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert f"collection.yaml:{said}" in complaints(tmp_path, HEAD.replace(old, new) + TREE)


def test_monthly_means(tmp_path: Path) -> None:
    weather = "{monthly: {tmin_c: %s, tmax_c: %s}}"
    head = HEAD.replace("w.csv", weather % ([1] * 11, ["x", *[9] * 11]))
    assert complaints(tmp_path, head + TREE) == [
        "collection.yaml:1: site.weather.monthly.tmax_c item 1 is 'x', not a number",
        "collection.yaml:1: site.weather.monthly.tmin_c has 11 items; allowed: exactly 12",
    ]
    head = HEAD.replace("w.csv", weather % ([30, 95, *[30] * 10], [*[50] * 6, 86, *[60] * 5]))
    assert complaints(tmp_path, head + TREE) == [
        "collection.yaml:1: site.weather.monthly: tmax_c holds 86, hotter than any month on record; "
        "allowed: degrees Celsius; this looks like Fahrenheit",
        "collection.yaml:1: site.weather.monthly: tmin_c of month 2 is 95, above its tmax_c of 50",
    ]


def test_mistakes_of_all_kinds_are_told_at_once(tmp_path: Path) -> None:
    text = HEAD.replace("37.75", "north") + (
        "  - {id: a, taxon: t, bench: opem, goal: flower}\n"
        "  - {id: a, taxon: t, bench: open, age: weak, age: young}\n"
        "  - {id: b, taxon: t, bench: shed}\n"
        "  - {id: a, taxon: t, bench: shed}\n"
    )
    assert complaints(tmp_path, text) == [
        "collection.yaml:1: site.latitude is 'north', not a number; allowed: -90 to 90",
        "collection.yaml:6: bench 'opem' is unknown; did you mean open?",
        "collection.yaml:6: goal is 'flower'; did you mean flowers?",
        "collection.yaml:7: age is 'weak', which is a condition; allowed: young, established",
        "collection.yaml:7: key 'age' is given twice, first on line 7; keep one of them",
        "collection.yaml:7: tree id 'a' is given twice, first on line 6; give each tree its own id",
        "collection.yaml:9: tree id 'a' is given twice, first on line 6; give each tree its own id",
    ]


def test_a_collection_that_lacks_its_parts(tmp_path: Path) -> None:
    assert complaints(tmp_path, "benches: {}\ntrees:\n") == [
        "collection.yaml:1: benches is an empty mapping; allowed: at least 1",
        "collection.yaml:1: site is missing; "
        "needed: a mapping with at least latitude, longitude, timezone, weather",
        "collection.yaml:2: trees is empty; allowed: a list",
    ]


def test_seasons_of_the_south_start_in_july(tmp_path: Path) -> None:
    head = HEAD.replace("37.75", "-38")
    tree = "  - {id: a, taxon: t, bench: open, remembered_bloom: {2026: %s}}\n"
    assert read(tmp_path, head + tree % "2026-12-02").trees[0].remembered_bloom == {2026: date(2026, 12, 2)}
    assert complaints(tmp_path, head + tree % "2026-06-02") == [
        "collection.yaml:6: remembered_bloom of 2026 is 2026-06-02, a day of season 2025; "
        "a season is named by the year in which its spring starts"
    ]


def test_the_order_of_trees_changes_nothing_but_lines(tmp_path: Path) -> None:
    trees = [
        f"  - {{id: t-{n}, taxon: t, bench: {bench}}}\n" for n, bench in enumerate(["open", "shed", "opne"])
    ]
    forth = complaints(tmp_path, HEAD + "".join(trees))
    back = complaints(tmp_path, HEAD + "".join(reversed(trees)))
    assert forth == ["collection.yaml:8: bench 'opne' is unknown; did you mean open?"]
    assert back == ["collection.yaml:6: bench 'opne' is unknown; did you mean open?"]


@given(st.permutations(range(6)))
def test_trees_read_alike_in_any_order(order: list[int]) -> None:
    trees = [f"  - {{id: t-{n}, taxon: t, bench: open, count: {n + 1}}}\n" for n in range(6)]
    located, _ = parse_yaml(HEAD + "".join(trees[n] for n in order), "collection.yaml")
    assert located is not None
    collection, problems = validate(located, Collection)
    assert problems == [] and collection is not None
    assert {tree.id: tree.count for tree in collection.trees} == {f"t-{n}": n + 1 for n in range(6)}


def test_folders_without_a_collection(tmp_path: Path) -> None:
    missing, file = tmp_path / "none", tmp_path / "file"
    file.write_text("")
    start = "make one with: care-planner start FOLDER"
    said = [str(read_collection(folder)[2][0]) for folder in (missing, file, tmp_path)]
    assert said == [
        f"{missing}: no such folder; {start}",
        f"{file}: not a folder; a collection is a folder that holds collection.yaml",
        f"{tmp_path}: no collection.yaml in this folder; {start}",
    ]


def test_a_collection_file_that_is_empty_broken_or_a_folder(tmp_path: Path) -> None:
    assert complaints(tmp_path, "") == ["collection.yaml:1: the file holds nothing"]
    assert complaints(tmp_path, "site:\n\tname: x\n") == [
        "collection.yaml:2: a tab where spaces belong; indent with spaces"
    ]
    (tmp_path / "collection.yaml").unlink()
    (tmp_path / "collection.yaml").mkdir()
    assert [str(problem) for problem in read_collection(tmp_path)[2]] == ["collection.yaml: not a file"]
