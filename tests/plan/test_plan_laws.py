"""Laws that hold for every plan. The climates here are invented; nothing is compared with outside values."""

import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
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
    of,
    plan,
    rulebook,
    stage,
)

from care_planner.plan import make_plan
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.words.chains import why_lines_of
from care_planner.words.fates import why_not
from care_planner.words.notices import notice_lines

GOALS = st.sampled_from(["flowers", "vigour", "balanced"])
NOTES: list[dict[str, Any]] = [
    {"date": "2027-02-20", "tree": "s", "saw": "bud-swell"},
    {"date": "2026-08-20", "tree": "s", "did": "prune-after-bloom"},
    {"date": "2027-02-25", "tree": "m", "condition": "weak"},
]


def trees(goal: str, bench: str, shelter: bool, age: str) -> list[dict[str, Any]]:
    more = {"goal": goal, "bench": bench, "age": age, **({"winter_bench": "shed"} if shelter else {})}
    return [{**tree, **more} for tree in (SATSUKI, MAPLE, PINE)]


some_trees = st.builds(
    trees,
    GOALS,
    st.sampled_from(["open", "pocket"]),
    st.booleans(),
    st.sampled_from(["young", "established"]),
)


@settings(max_examples=8)
@given(some_trees, st.randoms(use_true_random=False))
def test_the_order_of_trees_and_notes_changes_nothing(kept: list[dict[str, Any]], random: Random) -> None:
    shuffled, notes = list(kept), list(NOTES)
    random.shuffle(shuffled)
    random.shuffle(notes)
    one, other = plan(*kept, notes=NOTES), plan(*shuffled, notes=notes)
    assert list(one.tasks) == list(other.tasks)
    assert list(one.notices) == list(other.notices)
    assert sorted(map(str, one.stages)) == sorted(map(str, other.stages))


@settings(max_examples=10)
@given(some_trees, st.integers(0, 364), st.integers(0, 40), st.integers(0, 364))
def test_days_are_allowed(kept: list[dict[str, Any]], away_from: int, length: int, later: int) -> None:
    first = date.fromordinal(TODAY + away_from)
    last = date.fromordinal(TODAY + away_from + length)
    people = {"days": ["sat", "sun"], "away": [{"from": str(first), "to": str(last)}]}
    made = plan(*kept, today=TODAY + later, people=people)
    assert made.tasks
    for task in made.tasks:
        assert TODAY + later <= task.day <= made.until, task
        if task.way in ("watch", "standing"):
            assert task.until is None or task.until >= task.day, task
            continue  # it holds for a time, whoever is there; it begins rather too early
        if task.kind == "work":
            assert not first.toordinal() <= task.day <= last.toordinal(), task
        opens, closes = task.window.opens, task.window.closes
        if opens is None or closes is None or task.kind == "look":
            continue
        allowed = [
            day
            for day in range(max(opens, TODAY + later), closes + 1)
            if not first.toordinal() <= day <= last.toordinal()
        ]
        # Work that waits for another comes as soon as that is done; it says so.
        waits = "as soon as" in why_lines_of(task)[0]
        assert opens <= task.day <= closes or not allowed or waits, task


@settings(max_examples=6)
@given(some_trees)
def test_rests_and_one_heavy_work(kept: list[dict[str, Any]]) -> None:
    due = [{**tree, "last_repot": {"date": "2020-03-01"}} for tree in kept]
    made = plan(*due)
    for tree in due:
        rules = rulebook().taxa[tree["taxon"]].rules
        own = [task for task in made.tasks if task.tree == tree["id"] and task.kind == "work"]
        days = {(task.rule, task.season): task.day for task in reversed(own)}
        for season in (2027, 2028):
            heavy = [id for (id, at) in days if at == season and rules[id].heavy]
            assert len(heavy) <= 1, heavy
        for task in own:
            for rest in rules[task.rule].rests:
                for id in rest.after:
                    other = days.get((id, task.season))
                    if other is not None and rules[id].repeat is None:
                        assert task.day >= other + rest.days, (task, id)


@settings(max_examples=6)
@given(st.floats(0.3, 4.0))
def test_a_warmer_record_never_delays_a_stage_that_waits_for_warmth(by: float) -> None:
    cold, warm = plan(SATSUKI), plan(SATSUKI, record=made_record(warmer_c=by))
    for id in ("bud-colour", "first-flower", "third-open", "half-open", "end-of-bloom"):
        if id not in rulebook().taxa["satsuki-azalea"].stages:
            continue
        before, after = stage(cold, id, 2027), stage(warm, id, 2027)
        for share in ("p10", "p50", "p90"):
            assert getattr(after, share) <= getattr(before, share), (id, by)


MOVABLE = """
pack: movable
title: A tree without dates
about: Made for a law.
taxon:
  botanical: Arbor mobilis
  kind: deciduous
  flowers: no
  pace: {spread: 0.05, source: made}
  frost_limit_c: {hardened: -5, young: 0, roots_worked: 0, source: made}
  repot_every_years: {young: 1, established: 3, source: made}
stages:
  - id: dormancy-broken
    title: Rest satisfied
    bbch: "00"
    reached: {held: {of: mean, at_least_c: 4, days: 5}}
  - id: bud-swell
    title: Buds swell
    bbch: "01"
    reached:
      warmth: {by: {method: single-sine, base_c: 5}, sum: 80}
      since: {stage: dormancy-broken}
  - id: flush
    title: Shoots
    bbch: "31"
    reached:
      warmth: {by: {method: sigmoid, midpoint_c: 12, slope_per_c: 0.3}, sum: 20}
      since: {stage: bud-swell}
  - {id: end-of-growth, title: Ends, bbch: "91", reached: {held: {of: mean, at_most_c: 12, days: 5}}}
  - {id: rest, title: Rests, bbch: "97", reached: {stage: end-of-growth, plus_days: 30}}
"""


@settings(max_examples=6)
@given(st.integers(-12, 12))
def test_a_moved_record_moves_the_stages(days: int) -> None:
    """Where no date and no day length has a say, the whole record moved by k days moves stages by k days."""
    with TemporaryDirectory() as folder:
        (Path(folder) / "movable.yaml").write_text(MOVABLE, encoding="utf-8")
        rules, problems = read_rulebook(Path(folder), ["movable"])
    assert not problems
    tree = {"id": "x", "taxon": "movable", "bench": "open"}
    made = [
        make_plan(collection(tree), [], record, rules, TODAY)
        for record in (made_record(), replace(made_record(), first_day=made_record().first_day + days))
    ]
    for id in ("bud-swell", "flush"):
        for share in ("p10", "p50", "p90"):
            a, b = (date.fromordinal(getattr(stage(one, id, 2027, "x"), share)) for one in made)
            assert abs((b - a).days - days) <= 2, (id, share, days)


def test_half_a_year_later_at_the_mirrored_latitude() -> None:
    kept = trees("balanced", "open", True, "established")
    moved = [{**tree, "last_repot": {"date": "2026-09-30"}} for tree in kept]
    north = plan(*kept)
    record = replace(made_record(), first_day=made_record().first_day + HALF_YEAR_DAYS)
    south = plan(*moved, latitude=-37.0, record=record, today=TODAY + HALF_YEAR_DAYS)
    ours = {task.key: task.day for task in north.tasks if task.kind == "work"}
    theirs = {task.key: task.day - HALF_YEAR_DAYS for task in south.tasks if task.kind == "work"}
    both = ours.keys() & theirs.keys()
    assert len(both) >= 0.95 * len(ours)
    apart = np.array([abs(ours[key] - theirs[key]) for key in both])
    assert np.quantile(apart, 0.95) <= 6 and apart.max() <= 14


@settings(max_examples=5)
@given(st.integers(2002, 2013))
def test_a_long_gap_is_unknown_in_that_year_only(year: int) -> None:
    record = made_record()
    hole = slice(
        date(year, 3, 1).toordinal() - record.first_day, date(year, 4, 20).toordinal() - record.first_day
    )
    tmin = record.tmin_c.copy()
    tmin[hole] = np.nan
    made = plan(SATSUKI, record=replace(record, tmin_c=tmin))
    assert any(f"season {year} is left out" in words for words in notice_lines(made.notices))
    assert stage(made, "half-open", 2027).basis == "expected"


def test_no_record_to_speak_of_is_unknown() -> None:
    short = made_record()
    year = replace(short, tmin_c=short.tmin_c[:365], tmax_c=short.tmax_c[:365], tmean_c=short.tmean_c[:365])
    made = plan(SATSUKI, record=year)
    assert not [task for task in made.tasks if task.rule == "prune-after-bloom"]
    assert {row.basis for row in made.stages} == {"unknown"}
    assert any("fewer than 3" in words for words in notice_lines(made.notices))


def test_few_years_are_said_on_every_date() -> None:
    made = plan(SATSUKI, record=made_record(years=6))
    assert made.tasks
    assert all(any("few years" in why.lower() for why in why_lines_of(task)) for task in made.tasks)


@settings(max_examples=8)
@given(st.sampled_from(["repot", "prune-after-bloom", "spring-feed", "tag-colours", "shelter"]))
def test_noting_done_makes_nothing_impossible_unsaid(rule: str) -> None:
    due = {**SATSUKI, "last_repot": {"date": "2020-03-01"}}
    before = plan(due, today=TODAY + 120)
    after = plan(due, today=TODAY + 120, notes=[{"date": "2027-05-01", "tree": "s", "did": rule}])
    planned = {(task.rule, task.season) for task in before.tasks if task.kind == "work"}
    still = {(task.rule, task.season) for task in after.tasks if task.kind == "work"}
    for key in planned - still:
        assert why_not(after.fates["s"][key].reason), key


@settings(max_examples=4)
@given(st.integers(2, 6))
def test_twins_are_planned_alike(count: int) -> None:
    made = plan(*({**SATSUKI, "id": f"s-{n}"} for n in range(count)))
    days = {
        n: [(t.rule, t.season, t.occurrence, t.day) for t in made.tasks if t.tree == f"s-{n}"]
        for n in range(count)
    }
    assert all(days[n] == days[0] for n in range(count))


SCRIPT = """
import sys
sys.path.insert(0, {here!r})
from planning import MAPLE, SATSUKI, plan
made = plan(SATSUKI, MAPLE)
import hashlib
print(hashlib.sha256(repr((made.tasks, made.notices, sorted(map(str, made.stages)))).encode()).hexdigest())
"""


def test_hash_seed_and_time_zone_change_nothing() -> None:
    here = str(Path(__file__).parent)
    found = {
        subprocess.run(
            [sys.executable, "-c", SCRIPT.format(here=here)],
            env={"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(Path(__file__).parents[2])},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Pacific/Auckland"))
    }
    assert len(found) == 1


def test_a_plan_made_again_upon_itself_is_the_same() -> None:
    kept = collection(SATSUKI, MAPLE, PINE, people={"days": ["sat", "sun"]})
    one = make_plan(kept, entries(*NOTES), made_record(), rulebook(), TODAY)
    again = make_plan(kept, entries(*NOTES), made_record(), rulebook(), TODAY, as_published(one))
    assert list(one.tasks) == list(again.tasks)
    assert of(one, "repot", 2027) == of(again, "repot", 2027)
