"""What the plan's tests share: a made climate, collections in a line, plans to look into."""

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from care_planner.calendar.plan_json import plan_json
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.folder.read_previous import PLAN_NAME, read_previous
from care_planner.journal.model import Entry, JournalFile
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.words.notices import notice_lines
from care_planner.years.previous import PreviousPlan

LATITUDE = 37.0
TODAY = date(2027, 3, 1).toordinal()
SATSUKI = {
    "id": "s",
    "taxon": "satsuki-azalea",
    "bench": "open",
    "goal": "flowers",
    "age": "established",
    "condition": "strong",
    "wired": "no",
    "multicoloured": "yes",
    "last_repot": {"date": "2026-04-01"},
}
MAPLE = {**SATSUKI, "id": "m", "taxon": "japanese-maple", "refined": "yes"}
PINE = {**SATSUKI, "id": "p", "taxon": "japanese-black-pine", "refined": "yes"}


@cache
def rulebook() -> Rulebook:
    found, problems = read_rulebook()
    assert not problems
    return found


@cache
def made_record(years: int = 14, warmer_c: float = 0.0, moved_days: int = 0) -> WeatherRecord:
    """Invented: a sine over the year, a wave of weather with a period that no year divides, uneven years.

    2001 and on; coldest on 21 January near -1 degC, warmest near 25 degC; then moved by so many days.
    """
    first = date(2001, 1, 1).toordinal()
    days = np.arange(first, date(2001 + years, 1, 1).toordinal())
    of_year = (days - first) % 365.2425
    mean = 12.0 - 13.0 * np.cos(2 * np.pi * (of_year - 21) / 365.2425)
    mean = mean + 3.0 * np.sin(2 * np.pi * days / 17.3) + 1.2 * np.sin(2 * np.pi * days / 1171.0) + warmer_c
    return WeatherRecord(first + moved_days, mean - 5.0, mean + 5.0, mean, source="a made record")


def collection(*trees: Mapping[str, Any], latitude: float = LATITUDE, **more: Any) -> Collection:
    """A collection with an open bench, a frost pocket and a shed."""
    return Collection.model_validate(
        {
            "site": {"latitude": latitude, "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"},
            "benches": {
                "open": {},
                "pocket": {"offset_c": "-2"},
                "shed": {"floor_c": "2", "vent_c": "8"},
            },
            "trees": [dict(tree) for tree in trees],
            **more,
        }
    )


def entries(*notes: Mapping[str, Any]) -> list[Entry]:
    written = JournalFile.model_validate([dict(note) for note in notes])
    return [entry for one in written.root for entry in one.entries("notes.yaml", 1)]


def plan(
    *trees: Mapping[str, Any], today: int = TODAY, notes: Sequence[Mapping[str, Any]] = (), **more: Any
) -> Plan:
    """A plan on the made record."""
    record = more.pop("record", None) or made_record()
    return make_plan(collection(*trees, **more), entries(*notes), record, rulebook(), today)


def of(made: Plan, rule: str, season: int, kind: str = "work") -> list[Task]:
    """Tasks of a rule in a season, in order."""
    return [t for t in made.tasks if (t.rule, t.season, t.kind) == (rule, season, kind)]


def stage(made: Plan, id: str, season: int, tree: str = "s") -> StageRow:
    """A stage's row."""
    return next(r for r in made.stages if (r.tree, r.stage, r.season) == (tree, id, season))


def as_published(plan: Plan) -> PreviousPlan:
    """The plan as the next one reads it back: from the file it was written to."""
    data = plan_json(plan.today, plan.season, plan.until, plan.tasks, plan.stages, notice_lines(plan.notices))
    with TemporaryDirectory() as folder:
        (Path(folder) / PLAN_NAME).write_bytes(data)
        found, messages = read_previous(Path(folder))
    assert messages == []
    return found
