"""One tree's year as geometry: rows of spans and marks on one scale of days, for a template to draw."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from care_planner.journal.model import Entry
from care_planner.rulebook.pack import TaxonRules
from care_planner.spans import NEVER, Span
from care_planner.stages.noted import history_of
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.words.days import MONTHS, short_day

Look = Literal["expected", "window", "seen", "done", "planned", "likely"]


@dataclass(frozen=True, slots=True)
class Bar:
    """A span on the scale: `x` and `width` in per cent of it."""

    x: float
    width: float
    look: Look


@dataclass(frozen=True, slots=True)
class Mark:
    """A day on the scale: `x` in per cent of it."""

    x: float
    look: Look


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the picture, with its name and its dates in words."""

    name: str
    words: str
    bars: tuple[Bar, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A season of one tree. `months` are (x of its first day, name); `today` is None when it lies outside."""

    season: int
    months: tuple[tuple[float, str], ...]
    today: float | None
    stages: tuple[Row, ...]
    works: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Scale:
    """Days to per cent of a span."""

    span: Span

    def x(self, day: float) -> float:
        """Where a day begins, cut at the ends of the span."""
        share = (day - self.span.start) / len(self.span)
        return round(100 * min(max(share, 0.0), 1.0), 2)

    def mark(self, day: float) -> float:
        """The middle of a day."""
        return self.x(day + 0.5)

    def bar(self, first: float, last: float, look: Look) -> tuple[Bar, ...]:
        """Days from `first` to `last`, both included; nothing where none of them lies in the span."""
        if last < self.span.start or first >= self.span.end or last < first:
            return ()
        left = self.x(first)
        return (Bar(left, round(max(self.x(last + 1) - left, 0.4), 2), look),)

    def months(self) -> tuple[tuple[float, str], ...]:
        """The first days of the months within the span."""
        firsts = (day for day in range(self.span.start, self.span.end) if date.fromordinal(day).day == 1)
        return tuple((self.x(day), MONTHS[date.fromordinal(day).month - 1]) for day in firsts)


def tree_picture(
    span: Span,
    season: int,
    today: int,
    stages: Iterable[StageRow],
    tasks: Sequence[Task],
    entries: Iterable[Entry],
    rules: TaxonRules,
    south: bool,
) -> Picture:
    """The picture of one season. `stages` are the tree's rows of the plan, `tasks` its works to come."""
    scale = Scale(span)
    rows = sorted(
        (row for row in stages if row.season == season and row.stage in rules.stages),
        key=_stage_place,
    )
    return Picture(
        season,
        scale.months(),
        scale.mark(today) if today in span else None,
        tuple(_stage_row(row, scale, rules) for row in rows),
        tuple(_work_rows(scale, tasks, done_days(entries, rules, south), rules)),
    )


def done_days(entries: Iterable[Entry], rules: TaxonRules, south: bool) -> dict[tuple[str, int], list[int]]:
    """Days on which work was noted as done, by rule and season."""
    return {key: list(days) for key, days in history_of(entries, rules, south).works.items()}


def _stage_place(row: StageRow) -> tuple[float, str]:
    return row.p50 if row.p50 is not None else NEVER, row.stage


def _stage_row(row: StageRow, scale: Scale, rules: TaxonRules) -> Row:
    title = rules.stages[row.stage].title
    early, middle, late = (row.p10, row.p50, row.p90)
    if row.basis == "observed" and middle is not None:
        return Row(title, f"seen {short_day(middle)}", (), _mark(scale, middle, "seen"))
    if row.basis == "unknown":
        return Row(title, "not known, for want of weather", (), ())
    if middle is None or early is None:
        return Row(title, "not expected", (), ())
    last = late if late is not None else scale.span.end
    until = short_day(late) if late is not None else "never"
    words = f"about {short_day(middle)}; 8 years in 10: {short_day(early)} to {until}"
    return Row(title, words, scale.bar(early, last, "expected"), _mark(scale, middle, "likely"))


def _work_rows(
    scale: Scale, tasks: Sequence[Task], done: Mapping[tuple[str, int], list[int]], rules: TaxonRules
) -> list[Row]:
    works: defaultdict[tuple[str, int], list[Task]] = defaultdict(list)
    for task in tasks:
        if task.kind == "work" and not task.done:
            works[task.rule, task.season].append(task)
    found: list[tuple[int, str, Row]] = []
    for key in sorted({*works, *done}):
        days = sorted(task.day for task in works[key] if task.day in scale.span)
        past = sorted(day for day in done.get(key, ()) if day in scale.span)
        if days or past:
            held = [task for task in works[key] if task.day in scale.span]
            title = held[0].title if held else rules.rules[key[0]].title
            found.append((min(days + past), title, _work_row(title, scale, held, past)))
    return [row for _, _, row in sorted(found, key=lambda one: one[:2])]


def _work_row(title: str, scale: Scale, tasks: Sequence[Task], done: Sequence[int]) -> Row:
    bars: list[Bar] = []
    marks: list[Mark] = []
    for window in dict.fromkeys(task.window for task in tasks):
        if window.opens is not None and window.closes is not None:
            bars += scale.bar(window.opens, window.closes, "window")
    marks += [Mark(scale.mark(day), "done") for day in done]
    marks += [Mark(scale.mark(task.day), "planned") for task in tasks]
    words = [f"done {_days(done)}"] if done else []
    words += [f"planned {_days([task.day for task in tasks])}"] if tasks else []
    return Row(title, "; ".join(words), tuple(bars), tuple(marks))


def _days(days: Sequence[int]) -> str:
    if len(days) <= 2:
        return " and ".join(map(short_day, days))
    return f"{short_day(days[0])} and {len(days) - 1} times more until {short_day(days[-1])}"


def _mark(scale: Scale, day: int, look: Look) -> tuple[Mark, ...]:
    return (Mark(scale.mark(day), look),) if day in scale.span else ()
