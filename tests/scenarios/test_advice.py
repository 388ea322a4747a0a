"""Stories of advice, each at several places; see README.md here."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from places import day_at, record, site
from planning import as_published

from care_planner.collection.model import Collection
from care_planner.folder.departures import with_departures
from care_planner.journal.model import Entry, JournalFile
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.show.changes import change_lines
from care_planner.spans import is_south, season_start
from care_planner.tasks.model import Task
from care_planner.typed_yaml.read_yaml import read_yaml
from care_planner.words.chains import why_lines_of
from care_planner.words.fates import fate_words
from care_planner.words.notices import notice_lines
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan

FOLDER = Path(__file__).with_name("advice")
DATES = ("date", "acquired", "known_from", "from", "to", "on", "holds_on")
TAXA = [
    "camellia",
    "japanese-apricot",
    "japanese-black-pine",
    "japanese-maple",
    "korean-azalea",
    "satsuki-azalea",
    "wisteria",
]
HARDY = {"age": "established", "condition": "strong", "wired": "no", "last_repot": {"date": "2026-04-01"}}


@dataclass(frozen=True)
class Told:
    """A plan at a place, on top of the one before."""

    place: str
    plan: Plan
    before: PreviousPlan


@cache
def rulebook() -> Rulebook:
    found, problems = read_rulebook(taxa=TAXA)
    assert not problems
    return found


def story_of(path: Path) -> dict[str, Any]:
    located, problems = read_yaml(path, path.name)
    assert located is not None, problems
    return dict(located.data)


STORIES = {path.stem: story_of(path) for path in sorted(FOLDER.glob("*.yaml"))}
PLAYED = [(name, place) for name, story in STORIES.items() for place in story["places"]]


def there(value: Any, place: str, key: str = "") -> Any:
    """What a story says, with its dates as they are at the place."""
    if isinstance(value, dict):
        return {name: there(part, place, name) for name, part in value.items()}
    if isinstance(value, list):
        return [there(part, place, key) for part in value]
    return (
        day_at(place, value).isoformat()
        if key in DATES and isinstance(value, str) and value[:2] == "20"
        else value
    )


def told(story: Mapping[str, Any], place: str) -> list[tuple[Told, list[dict[str, Any]]]]:
    story = there(story, place)
    trees = [{"id": id, **HARDY, "bench": "open", **tree} for id, tree in story["trees"].items()]
    trees = [{key: value for key, value in tree.items() if value != "not told"} for tree in trees]
    collection = Collection.model_validate(
        {
            "site": site(place),
            "benches": {"open": {}, "shed": {"floor_c": "2", "vent_c": "8"}, "tunnel": {"offset_c": "1"}},
            "trees": trees,
            "silence": story.get("silence", "ask"),
            **({"people": story["people"]} if "people" in story else {}),
        }
    )
    notes: list[Any] = list(story.get("notes_before", []))
    before, found = NO_PREVIOUS, []
    for step in story["plans"]:
        notes += step.get("notes", [])
        today = date.fromisoformat(step["on"]).toordinal()
        entries = entries_of(notes)
        plan = make_plan(
            with_departures(collection, entries), entries, record(place), rulebook(), today, before
        )
        found.append((Told(place, plan, before), step["expect"]))
        before = as_published(plan)
    return found


def entries_of(notes: list[Any]) -> list[Entry]:
    written = JournalFile.model_validate([{"tree": "one", **note} for note in notes])
    return [entry for one in written.root for entry in one.entries("story.yaml", 1)]


@pytest.mark.parametrize(("name", "place"), PLAYED, ids=[f"{name}-{place}" for name, place in PLAYED])
def test_the_plan_says_what_a_grower_would(name: str, place: str) -> None:
    faults = [
        f"{line}: {fault}"
        for plan, lines in told(STORIES[name], place)
        for line in lines
        if place in line.get("at", [place]) and (fault := fault_of(plan, line))
    ]
    assert not faults, "\n".join(faults)


def fault_of(plan: Told, line: Mapping[str, Any]) -> str:
    """What a plan has against one expectation; empty where it holds."""
    lines = notice_lines(plan.plan.notices)
    if "says" in line:
        return "" if any(line["says"] in words for words in lines) else str(lines)
    if "says_not" in line:
        return next((words for words in lines if line["says_not"] in words), "")
    if "changes" in line:
        text = " ".join(" ".join(change_lines(plan.before, plan.plan, rulebook())).split())
        return "" if line["changes"] in text else text
    if "asked" in line:
        return asked_fault(plan, line)
    if "same_works" in line:
        one, two = ({t.rule for t in of_tree(plan, tree)} - set(line["but"]) for tree in line["same_works"])
        return "" if one == two else f"only in one of them: {sorted(one ^ two)}"
    if "stage" in line and "work" not in line:
        return stage_fault(plan, line)
    return work_fault(plan, line)


def season_in(line: Mapping[str, Any]) -> int:
    return int(line.get("season", 2027))


def of_tree(plan: Told, tree: str, season: int = 2027) -> list[Task]:
    return [t for t in plan.plan.tasks if (t.tree, t.season, t.kind) == (tree, season, "work")]


def tasks_of(plan: Told, line: Mapping[str, Any], work: str) -> list[Task]:
    own = of_tree(plan, line.get("tree", "one"), season_in(line))
    return sorted((task for task in own if task.rule == work), key=lambda task: task.day)


def expected(plan: Told, line: Mapping[str, Any], stage: str) -> int | None:
    key = (line.get("tree", "one"), stage, season_in(line))
    row = next(row for row in plan.plan.stages if (row.tree, row.stage, row.season) == key)
    return row.p50


def asked_fault(plan: Told, line: Mapping[str, Any]) -> str:
    asked = [q for q in plan.plan.questions if (q.rule, q.season) == (line["asked"], season_in(line))]
    if line.get("none"):
        return str(asked) if asked else ""
    if not asked:
        return str([q.rule for q in plan.plan.questions])
    if "on" in line and asked[0].on != date.fromisoformat(line["on"]).toordinal():
        return str(date.fromordinal(asked[0].on))
    return "" if list(asked[0].trees) == line.get("of", ["one"]) else str(asked[0].trees)


def stage_fault(plan: Told, line: Mapping[str, Any]) -> str:
    day = expected(plan, line, line["stage"])
    if "reached" in line:
        return "" if (day is not None) == (line["reached"] is True or line["reached"] == "yes") else str(day)
    assert day is not None
    first, last = (date.fromisoformat(line[end]).toordinal() for end in ("from", "to"))
    return "" if first <= day <= last else str(date.fromordinal(day))


def work_fault(plan: Told, line: Mapping[str, Any]) -> str:
    tasks = tasks_of(plan, line, line["work"])
    told = plan.plan.fates[line.get("tree", "one")].get((line["work"], season_in(line)))
    fate = fate_words(told) if told is not None else ""
    if "none" in line:
        return "" if not tasks and line["none"] in fate else f"{shown(tasks)} {fate}"
    if not tasks:
        return f"no day: {fate}"
    first, last = tasks[0], tasks[-1]
    faults = [check(plan, line, first, last) for check in CHECKS]
    return "; ".join(fault for fault in faults if fault)


def shown(tasks: list[Task]) -> list[str]:
    return [date.fromordinal(task.day).isoformat() for task in tasks]


def in_span(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    if "from" not in line:
        return ""
    start, end = (date.fromisoformat(line[key]).toordinal() for key in ("from", "to"))
    return "" if start <= first.day <= end else shown([first])[0]


def after_work(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    """Days after the first day of another work."""
    if "after" not in line:
        return ""
    others = tasks_of(plan, line, line["after"])
    if not others:
        return f"no day of {line['after']}"
    apart = first.day - others[0].day
    least, most = (int(days) for days in line["days"])
    return "" if least <= apart <= most else f"{apart} days after it"


def after_stage(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    """Days after the middle date of a stage."""
    if "stage" not in line:
        return ""
    day = expected(plan, line, line["stage"])
    least, most = (int(days) for days in line["days"])
    return (
        ""
        if day is not None and least <= first.day - day <= most
        else f"{shown([first])}, {day and date.fromordinal(day)}"
    )


def not_with(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    others = {task.day for work in line.get("not_with", []) for task in tasks_of(plan, line, work)}
    return f"on the day of another: {shown([first])}" if first.day in others else ""


def to_the_night(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    """Its window closes with the last night at or under a limit in all years, a leap day apart."""
    if "to_last_night_c" not in line:
        return ""
    weather, south = record(plan.place), is_south(float(site(plan.place)["latitude"]))
    cold = np.flatnonzero(weather.tmin_c <= float(line["to_last_night_c"])) + weather.first_day
    latest = 0
    for year in range(1970, 2030):
        start = season_start(year, south)
        nights = [int(day) - start for day in cold if start <= day < start + 182]
        latest = max(latest, nights[-1] if nights else 0)
    closes = first.window.closes
    apart = None if closes is None else closes - season_start(season_in(line), south) - latest
    return "" if apart is not None and abs(apart) <= 1 else f"{apart} days from it"


def holds(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    """It has begun by these days and is not over on them."""
    days = [date.fromisoformat(one).toordinal() for one in line.get("holds_on", [])]
    end = last.until or last.day
    missing = [day for day in days if not first.day <= day <= end]
    return f"{shown([first])} to {date.fromordinal(end)}" if missing else ""


def over_by(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    """No day of it lies on the first day of another work, or after it."""
    others = tasks_of(plan, line, line["over_by"]) if "over_by" in line else []
    return f"still on {shown([last])}" if others and last.day >= others[0].day else ""


def words(plan: Told, line: Mapping[str, Any], first: Task, last: Task) -> str:
    text = " ".join((first.title, first.what, *why_lines_of(first), *first.cautions))
    if "tells" in line and line["tells"] not in text:
        return text
    if "tells_not" in line and line["tells_not"] in text:
        return text
    if "minutes" in line and first.minutes != int(line["minutes"]):
        return f"{first.minutes} minutes"
    return ""


CHECKS = (in_span, after_work, after_stage, not_with, to_the_night, holds, over_by, words)
