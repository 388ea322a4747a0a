"""Stories of one tree, planned again and again; see README.md here."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from planning import as_published

from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.journal.model import Entry, JournalFile
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.show.changes import change_lines
from care_planner.show.questions import question_lines
from care_planner.typed_yaml.read_yaml import parse_yaml, read_yaml
from care_planner.words.fates import fate_words
from care_planner.words.moves import moved_words
from care_planner.words.notices import notice_lines
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan

HERE = Path(__file__).parent
RECORD = HERE.parents[1] / "examples" / "gangneung" / "weather.csv.gz"
SCENARIOS = sorted(HERE.glob("*.yaml"))


@dataclass(frozen=True)
class Made:
    """A plan, and the one it was made upon."""

    plan: Plan
    before: PreviousPlan


@cache
def record() -> WeatherRecord:
    found, problems = read_weather_file(RECORD, RECORD.name)
    assert found is not None, problems
    return found


@cache
def rulebook() -> Rulebook:
    found, problems = read_rulebook(taxa=["satsuki-azalea", "japanese-maple", "japanese-black-pine"])
    assert not problems
    return found


def read(path: Path) -> dict[str, Any]:
    located, problems = read_yaml(path, path.name)
    assert located is not None, problems
    return dict(located.data)


def collection(story: Mapping[str, Any]) -> Collection:
    return Collection.model_validate(
        {
            "site": {
                "latitude": "37.75",
                "longitude": "128.89",
                "timezone": "Asia/Seoul",
                "weather": "x.csv",
            },
            "benches": {"open": {}, "shed": {"floor_c": "2", "vent_c": "8"}},
            "people": {"days": ["sat", "sun"], "away": story.get("away", [])},
            "trees": [{"id": "one", **story["tree"]}],
        }
    )


def entries(notes: list[Any]) -> list[Entry]:
    written = JournalFile.model_validate(notes)
    return [entry for one in written.root for entry in one.entries("scenario.yaml", 1)]


def plans(story: Mapping[str, Any]) -> list[tuple[Made, list[dict[str, Any]]]]:
    trees = collection(story)
    notes = list(story.get("notes_before", []))
    before, made = NO_PREVIOUS, []
    for step in story["plans"]:
        notes += step.get("notes", [])
        today = date.fromisoformat(step["on"]).toordinal()
        plan = make_plan(trees, entries(notes), record(), rulebook(), today, before)
        made.append((Made(plan, before), step["expect"]))
        before = as_published(plan)
    return made


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def days_of(made: Made, line: Mapping[str, Any]) -> list[int]:
    return sorted(
        task.day
        for task in made.plan.tasks
        if (task.rule, task.season, task.kind) == (line["work"], int(line["season"]), "work")
    )


def fault(made: Made, line: Mapping[str, Any]) -> str:
    """What a plan has against one expectation; empty where it holds."""
    if "work" in line:
        return work_fault(made, line)
    if "stage" in line:
        return stage_fault(made, line)
    if "says" in line:
        lines = notice_lines(made.plan.notices)
        return "" if any(line["says"] in words for words in lines) else str(lines)
    if "asks" in line:
        asked = " ".join(" ".join(question_lines(made.plan.questions)).split())
        return "" if line["asks"] in asked else f"asks: {asked}"
    text = " ".join(" ".join(change_lines(made.before, made.plan, rulebook(), True)).split())
    return "" if line["changes"] in text else f"changes: {text}"


def work_fault(made: Made, line: Mapping[str, Any]) -> str:
    days = days_of(made, line)
    shown = [date.fromordinal(one).isoformat() for one in days]
    found = made.plan.fates["one"].get((line["work"], int(line["season"])))
    fate = fate_words(found) if found is not None else ""
    if "none" in line:
        return "" if not days and line["none"] in fate else f"{shown} {fate}"
    if "not_before" in line:
        return "" if all(one >= day(line["not_before"]) for one in days) else str(shown)
    if "from" in line:
        return "" if days and day(line["from"]) <= days[0] <= day(line["to"]) else f"{shown} {fate}"
    part = f"{line['work']}/{line['season']}/1/work"
    task = next((one for one in made.plan.tasks if one.key == f"one/{part}"), None)
    before = made.before.of("one").tasks.get(part)
    if task is None or before is None:
        return f"not in both plans: {shown} {fate}"
    if "kept" in line:
        return "" if task.day == before.day else f"{shown} {moved_words(task.move)}"
    return (
        "" if task.day != before.day and line["moved"] in moved_words(task.move) else f"{shown} {task.move}"
    )


def stage_fault(made: Made, line: Mapping[str, Any]) -> str:
    key = (line["stage"], int(line["season"]))
    row = next(row for row in made.plan.stages if (row.stage, row.season) == key)
    if "seen" in line:
        return "" if (row.basis, row.p50) == ("observed", day(line["seen"])) else str(row)
    if "reached" in line:
        return "" if row.reached == 0 and row.p50 is None else str(row)
    if "from" in line:
        return "" if row.p50 and day(line["from"]) <= row.p50 <= day(line["to"]) else str(row)
    first, last = (int(days) for days in line["later"])
    later = row.p50 - made.before.of("one").stages[key]
    return "" if first <= later <= last else f"{later} days later"


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_scenario(path: Path) -> None:
    faults = [
        f"{date.fromordinal(made.plan.today)}: {dict(line)}: {found}"
        for made, expected in plans(read(path))
        for line in expected
        if (found := fault(made, line))
    ]
    assert not faults, "\n".join(faults)


def test_there_are_scenarios() -> None:
    assert len(SCENARIOS) >= 4


@pytest.mark.parametrize(
    "line",
    [
        "{work: repot, season: 2027, from: 2027-05-01, to: 2027-05-02}",
        "{work: repot, season: 2027, none: no flowers are expected}",
        "{work: prune-after-bloom, season: 2027, from: 2027-06-01, to: 2027-07-01}",
        "{stage: first-flower, season: 2027, reached: no}",
        "{stage: first-flower, season: 2027, seen: 2027-05-01}",
        "{says: there is nothing to say}",
        "{changes: Repot}",
    ],
)
def test_a_wrong_expectation_is_seen(line: str) -> None:
    story = read(HERE / "may_repot.yaml")
    wrong, problems = parse_yaml(line, "line")
    assert wrong is not None, problems
    made, _ = plans({**story, "plans": story["plans"][:1]})[0]
    assert fault(made, wrong.data)
