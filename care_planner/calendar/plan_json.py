"""The plan as JSON for other programs: sorted, a text once, a repeated thing in one row with its days.

Version 2: `{"version": 2, "today", "season", "until", "texts": [...], "tasks": [...], "stage_columns",
"stages": {TREE: [...]}, "problems": [...]}`.

A row of `tasks` is one work of one tree in one season: `tree`, `taxon`, `rule`, `season`, `kind` (work or
look; a look has its `stage`), `way`, `loss`, `category`, `minutes`, `bench` (of its first day), `window`
(opens, likely, closes), `left` (true where nobody has time for it); `title`, `what` and `cautions` as places
in `texts`; `days`: [occurrence, day, last day, chance, firm, bench, move] each, `move` null, or from which
day it moved and why, with the first published day that passed without a note. Of a thing of the walk that is
sure and has not moved it is [occurrence, day], with its bench where that is another. A row of a tree's
`stages` is in the order of `stage_columns`.

A task's key is `TREE/RULE/SEASON/OCCURRENCE/work`, that of a look `TREE/STAGE/SEASON/1/look`; its UID in the
feeds is UUIDv5 of the key in the namespace of the collection's identity.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from care_planner.calendar.state_text import Texts
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.years.move import AsRecorded, Move, move_data

VERSION = 2
STAGE_COLUMNS = ("stage", "season", "p10", "p50", "p90", "reached", "basis", "bbch")

_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


def plan_json(
    today: int,
    season: int,
    until: int,
    tasks: Iterable[Task],
    stages: Iterable[StageRow],
    problems: Iterable[object],
    weather_years: int = 0,
    identity: UUID | None = None,
) -> bytes:
    """The bytes of plan.json.

    `today` and `until` are proleptic ordinals; `problems` anything whose text says it. `weather_years` and
    `identity` are what the plan stands on, for the next one.
    """
    days, texts = _Days(), Texts()
    series: defaultdict[tuple[Any, ...], list[Task]] = defaultdict(list)
    for task in tasks:
        series[_series(task)].append(task)
    rows = [_encode(_row(series[key], days, texts)) for key in sorted(series)]
    trees: defaultdict[str, list[list[Any]]] = defaultdict(list)
    for stage in stages:
        trees[stage.tree].append(_stage(stage, days))
    parts = (
        f'"version": {VERSION}',
        f'"today": "{days[today]}"',
        f'"season": {season}',
        f'"until": "{days[until]}"',
        f'"weather_years": {weather_years}',
        *([f'"identity": "{identity}"'] if identity is not None else []),
        _list("tasks", rows),
        _list("texts", list(map(_encode, texts.all()))),
        f'"stage_columns": {_encode(STAGE_COLUMNS)}',
        '"stages": {\n'
        + ",\n".join(f"{_encode(t)}: {_encode(sorted(trees[t], key=str))}" for t in sorted(trees))
        + "}",
        _list("problems", [_encode(text) for text in sorted(set(map(str, problems)))]),
    )
    # A lone surrogate in a name has no UTF-8; it becomes a question mark rather than a crash.
    return ("{\n" + ",\n".join(parts) + "\n}\n").encode("utf-8", "replace")


class _Days(dict[int | None, str | None]):
    """ISO dates by ordinal, each made once: a plan has far fewer days than tasks."""

    def __missing__(self, day: int | None) -> str | None:
        self[day] = None if day is None else date.fromordinal(day).isoformat()
        return self[day]


def _series(task: Task) -> tuple[Any, ...]:
    """Tasks that differ in nothing but their days; no part of it is a place in `texts`."""
    window = task.window
    edges = tuple(-1 if day is None else day for day in (window.opens, window.likely, window.closes))
    return (task.tree, task.rule, task.season, task.kind, task.stage, task.title, edges, task.what, task.left)


def _row(tasks: Sequence[Task], days: _Days, texts: Texts) -> dict[str, Any]:
    first = tasks[0]
    window = first.window
    row = {
        "tree": first.tree,
        "taxon": first.taxon,
        "rule": first.rule,
        "season": first.season,
        "kind": first.kind,
        "way": first.way,
        "loss": first.loss,
        "category": first.category,
        "minutes": first.minutes,
        "window": [days[window.opens], days[window.likely], days[window.closes]],
        "title": texts.place(first.title),
        "what": texts.place(first.what),
        "cautions": [texts.place(caution) for caution in first.cautions],
        "bench": first.bench,
        "days": [_day(task, first.bench, days) for task in sorted(tasks, key=lambda task: task.occurrence)],
    }
    row |= {"stage": first.stage} if first.kind == "look" else {}
    return row | ({"left": True} if first.left else {})


def _day(task: Task, bench: str, days: _Days) -> list[Any]:
    short: list[Any] = [task.occurrence, days[task.day]]
    if task.way == "walk" and task.kind == "work" and task.move is None:
        return short if task.bench == bench else [*short, task.bench]
    return [*short, days[task.until], round(task.chance, 2), task.firm, task.bench, _move(task.move)]


def _move(move: Move | None) -> Any:
    """From where and why; of an older plan's move the words alone."""
    return move.cause.words if move is not None and isinstance(move.cause, AsRecorded) else move_data(move)


def _stage(row: StageRow, days: _Days) -> list[Any]:
    """In the order of `STAGE_COLUMNS`."""
    dates = [days[day] for day in (row.p10, row.p50, row.p90)]
    return [row.stage, row.season, *dates, row.reached, row.basis, row.bbch]


def _list(name: str, rows: list[str]) -> str:
    if not rows:
        return f'"{name}": []'
    return f'"{name}": [\n' + ",\n".join(rows) + "\n]"
