"""More laws of every plan: the order of rules and files, looks, strange worlds, bytes and the clock; and the
laws' own checks seen to fail."""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
import test_plan_laws
import yaml
from click.testing import CliRunner
from example_copy import A_FEW, copied
from hypothesis import given, settings
from hypothesis import strategies as st
from planning import (
    MAPLE,
    PINE,
    SATSUKI,
    TODAY,
    as_published,
    collection,
    entries,
    made_record,
    plan,
    rulebook,
)
from small_world import smooth_record

from care_planner import cli
from care_planner.commands import tools
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook, shipped_folder
from care_planner.show.plan import plan_lines
from care_planner.years.workdays import workdays

# The order of rules and of files.


def shuffled(folder: Path, random: Random) -> Rulebook:
    """The shipped packs with stages, rules and signs in another order, but for heavy works."""
    folder.mkdir()
    for path in shipped_folder().glob("*.yaml"):
        pack = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
        heavy = iter([rule for rule in pack["rules"] if rule.get("heavy") == "true"])
        random.shuffle(pack["rules"])
        pack["rules"] = [next(heavy) if rule.get("heavy") == "true" else rule for rule in pack["rules"]]
        for part in ("stages", "signs"):
            random.shuffle(pack.get(part, []))
        (folder / path.name).write_text(yaml.safe_dump(pack, sort_keys=False), encoding="utf-8")
    found, problems = read_rulebook(shipped=folder)
    assert not problems
    return found


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_of_rules_and_stages_changes_nothing(seed: int, tmp_path: Path) -> None:
    goals = ("flowers", "vigour")
    kept = [
        {**tree, "goal": goal, "id": f"{tree['id']}-{goal}"}
        for tree in (SATSUKI, MAPLE, PINE)
        for goal in goals
    ]
    trees = collection(*kept, people={"days": ["sat"]})
    one, other = (
        make_plan(trees, [], made_record(), rules, TODAY)
        for rules in (rulebook(), shuffled(tmp_path / "packs", Random(seed)))
    )
    assert one.tasks and list(one.tasks) == list(other.tasks)
    assert list(one.notices) == list(other.notices)
    assert sorted(map(str, one.stages)) == sorted(map(str, other.stages))


def written(folder: Path, out: Path, *args: str) -> dict[str, bytes]:
    """The files of a plan that the command writes on one and the same day."""
    done = CliRunner().invoke(
        cli.main, ["plan", str(folder), "--today", "2027-03-01", "--out", str(out), *args]
    )
    assert done.exit_code == 0, done.output
    return {p.name: p.read_bytes() for p in out.rglob("*") if p.suffix in (".ics", ".json")}


@pytest.fixture
def steady_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    def at(text: str) -> None:
        import pendulum

        monkeypatch.setattr(tools, "now_in", lambda zone: pendulum.parse(text, tz=zone))

    at("2027-03-01T09:00:00")
    return at


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    copied(tmp_path / "trees", A_FEW)
    (tmp_path / "trees" / "identity.txt").write_text(
        "8a6e0804-2bd0-4672-b79d-d97027f9071a\n", encoding="utf-8"
    )
    return tmp_path / "trees"


OVER = "lays_over: satsuki-azalea\nrules: [{id: spring-feed, %s}]\n"


def test_names_of_files_and_where_notes_stand_change_nothing(
    folder: Path, tmp_path: Path, steady_clock: object
) -> None:
    (folder / "rules").mkdir()
    notes = (
        "{date: 2027-02-20, tree: sats-01, condition: weak}",
        "{date: 2027-02-27, tree: sats-02, did: winter-water-check}",
    )
    for turn, names in enumerate((("a", "b"), ("b", "a"))):
        for name, said in zip(names, ("choose: mid", "minutes: {small: 2, large: 4}"), strict=True):
            (folder / "rules" / f"{name}.yaml").write_text(OVER % said, encoding="utf-8")
        for name, note in zip(names, notes, strict=True):
            (folder / "journal" / f"{name}.yaml").write_text(f"- {note}\n", encoding="utf-8")
        found = written(folder, tmp_path / f"out-{turn}")
        if turn == 0:
            first = found
    assert first == found and len(found) > len(A_FEW)


def test_the_clock_changes_stamps_only(
    folder: Path, tmp_path: Path, steady_clock: Callable[[str], None]
) -> None:
    one = written(folder, tmp_path / "one")
    steady_clock("2027-03-05T23:59:59")
    other = written(folder, tmp_path / "other")
    assert one["plan.json"] == other["plan.json"]

    def without_stamps(feed: bytes) -> list[bytes]:
        stamps = (b"DTSTAMP:", b"LAST-MODIFIED:", b"CREATED:")
        return [line for line in feed.splitlines() if not line.startswith(stamps)]

    for name in one:
        if name.endswith(".ics"):
            assert without_stamps(one[name]) == without_stamps(other[name])
    assert one["all.ics"] != other["all.ics"]  # or the test would compare nothing


SCRIPT = """
import sys, pendulum
from care_planner import cli
from care_planner.commands import tools
tools.now_in = lambda zone: pendulum.parse("2027-03-01T09:00:00", tz=zone)
cli.main(["plan", sys.argv[1], "--out", sys.argv[2]])
"""


def test_hash_seed_and_time_zone_change_no_byte(folder: Path, tmp_path: Path) -> None:
    found = []
    for seed, zone in (("1", "UTC"), ("77", "Pacific/Auckland")):
        out = tmp_path / f"out-{seed}"
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(Path(__file__).parents[2])}
        subprocess.run(
            [sys.executable, "-c", SCRIPT, str(folder), str(out)], env=env, check=True, capture_output=True
        )
        found.append({str(p.relative_to(out)): p.read_bytes() for p in out.rglob("*") if p.is_file()})
    assert found[0] == found[1] and len(found[0]) > 10


# Days.


@settings(max_examples=8)
@given(test_plan_laws.some_trees, st.integers(30, 90), st.integers(5, 60))
def test_nothing_at_all_lies_on_a_day_away(kept: list[dict[str, Any]], away_from: int, length: int) -> None:
    """Looks too: from spring on, when buds are watched. A watch begins with its weather, and what holds for
    a time begins with its stage, whoever is there."""
    first, last = TODAY + away_from, TODAY + away_from + length
    span = {"from": str(date.fromordinal(first)), "to": str(date.fromordinal(last))}
    made = plan(*kept, people={"days": ["sat", "sun"], "away": [span]})
    here = [task for task in made.tasks if task.way not in ("watch", "standing")]
    on_those_days = [task.key for task in here if first <= task.day <= last]
    assert on_those_days == []


@settings(max_examples=6)
@given(test_plan_laws.some_trees, st.integers(0, 150), st.booleans())
def test_no_work_lies_inside_a_rest(kept: list[dict[str, Any]], later: int, noted: bool) -> None:
    """After work that is planned and after work that was noted; trees that are not due for a repot."""
    pruned = {"date": str(date.fromordinal(TODAY + later)), "tree": "s", "did": "prune-after-bloom"}
    made = plan(*kept, today=TODAY + later, notes=[pruned] if noted else [])
    for tree in kept:
        rules = rulebook().taxa[tree["taxon"]].rules
        own = [task for task in made.tasks if task.tree == tree["id"] and task.kind == "work"]
        days = [(task.rule, task.day) for task in own]
        if noted and tree["id"] == "s":
            days.append(("prune-after-bloom", TODAY + later))
        for task in own:
            for rest in rules[task.rule].rests:
                before = [at for id, at in days if id in rest.after and at <= task.day]
                assert not before or task.day >= max(before) + rest.days, (task.key, rest)


# Strange worlds.


@st.composite
def worlds(draw: st.DrawFn) -> dict[str, Any]:
    taxon = draw(st.sampled_from([SATSUKI, MAPLE, PINE]))
    tree: dict[str, Any] = {**taxon, "id": "x", "bench": draw(st.sampled_from(["open", "pocket"]))}
    tree["goal"] = draw(st.sampled_from(["flowers", "vigour", "balanced"]))
    if draw(st.booleans()):
        tree["winter_bench"] = "shed"
    for fact in draw(st.sets(st.sampled_from(["age", "condition", "multicoloured", "wired", "last_repot"]))):
        del tree[fact]
    rules = rulebook().taxa[tree["taxon"]]
    today = TODAY + draw(st.integers(0, 365))
    said = st.one_of(
        st.sampled_from(list(rules.rules)).map(lambda id: {"did": id}),
        st.sampled_from(list(rules.rules)).map(lambda id: {"skipped": id}),
        st.sampled_from(list(rules.stages)).map(lambda id: {"saw": id}),
        st.sampled_from(list(rules.stages)).map(lambda id: {"saw": {"not-yet": id}}),
        st.sampled_from(sorted(rules.signs)).map(lambda id: {"saw": id}),
        st.sampled_from(["weak", "strong"]).map(lambda word: {"condition": word}),
        st.sampled_from(["open", "shed", "pocket"]).map(lambda bench: {"moved_to": bench}),
    )
    notes = draw(st.lists(st.tuples(st.integers(0, 400), said), max_size=5))
    return {
        "tree": tree,
        "today": today,
        "notes": [{"date": str(date.fromordinal(today - back)), "tree": "x", **what} for back, what in notes],
        "latitude": draw(st.sampled_from([37.0, 69.9, 2.0, -1.0, -35.0, -66.0])),
        "mean_c": draw(st.sampled_from([-5.0, 3.0, 13.0, 24.0])),
        "swing_c": draw(st.sampled_from([2.0, 11.5, 18.0])),
        "hole": draw(st.integers(0, 4000)),
        "hole_days": draw(st.sampled_from([0, 2, 60])),
        "risk": draw(st.sampled_from([0, 0.1, 1])),
    }


def plan_of(world: dict[str, Any]) -> tuple[Plan, Plan]:
    """The plan of a world, and the one made again upon it with the notes in another order."""
    record = smooth_record(mean_c=world["mean_c"], swing_c=world["swing_c"])
    tmin = record.tmin_c.copy()
    tmin[world["hole"] : world["hole"] + world["hole_days"]] = np.nan
    record = replace(record, tmin_c=tmin)
    trees = collection(world["tree"], latitude=world["latitude"], risk={"frost": world["risk"]})
    notes, today = entries(*world["notes"]), world["today"]
    one = make_plan(trees, notes, record, rulebook(), today)
    before = as_published(one)
    return one, make_plan(trees, notes[::-1], record, rulebook(), today, before)


@settings(max_examples=25)
@given(worlds())
def test_every_world_has_a_plan_that_holds_together(world: dict[str, Any]) -> None:
    """Poles, equator, frostless and frozen places, holes in the record, notes that contradict one another."""
    made, again = plan_of(world)
    assert len({task.key for task in made.tasks}) == len(made.tasks)
    heavy = set()
    for task in made.tasks:
        assert made.today <= task.day <= made.until
        assert 0 <= task.chance <= 1 and task.reasons
        opens, closes = task.window.opens, task.window.closes
        assert opens is None or closes is None or opens <= closes
        rule = rulebook().taxa[task.taxon].rules[task.rule]
        if rule.heavy and task.kind == "work":
            assert task.season not in heavy, task.key
            heavy.add(task.season)
    for row in made.stages:
        days = [day for day in (row.p10, row.p50, row.p90) if day is not None]
        assert days == sorted(days) and (row.reached is None or 0 <= row.reached <= 1)
    assert all(len(line) <= 80 for line in plan_lines(made, collection(world["tree"]), True))
    assert [(task.key, task.day) for task in made.tasks] == [(task.key, task.day) for task in again.tasks]


# The laws' own checks are seen to fail.


def inner(law: Callable[..., None]) -> Callable[..., None]:
    """A law without the search for examples."""
    return law.hypothesis.inner_test  # type: ignore[attr-defined, no-any-return]


TREES = test_plan_laws.trees("vigour", "open", True, "established")


@pytest.mark.parametrize(
    ("place", "fault", "law"),
    [
        (
            "care_planner.years.common.workdays",
            lambda first, days, away, favourite: workdays(first, days, lambda day: False, favourite),
            lambda: inner(test_nothing_at_all_lies_on_a_day_away)(TREES, 60, 40),
        ),
        (
            "care_planner.years.eligible._one_heavy_work",
            lambda *args: iter(()),
            lambda: inner(test_plan_laws.test_rests_and_one_heavy_work)(TREES),
        ),
        (
            "care_planner.years.work.rested_until",
            lambda *args: -np.inf,
            lambda: inner(test_no_work_lies_inside_a_rest)(TREES, 0, False),
        ),
        (
            "care_planner.stages.moments.month_day",
            lambda season, month, day, south: date(season, month, min(day, 28)).toordinal(),
            test_plan_laws.test_half_a_year_later_at_the_mirrored_latitude,
        ),
    ],
    ids=["away", "heavy", "rests", "mirrored"],
)
def test_a_planted_fault_breaks_a_law(
    place: str, fault: Any, law: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    law()
    monkeypatch.setattr(place, fault)
    with pytest.raises(AssertionError):
        law()
