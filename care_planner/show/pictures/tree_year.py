"""One tree's season on one axis: bloom, growth and rest, the few works that count, what was noted."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Literal

from care_planner.journal.model import Entry
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import LOSSES
from care_planner.show.pictures.scale import Scale
from care_planner.spans import NEVER, Span
from care_planner.stages.noted import history_of
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.words.days import short_day

# Of one tree so many works are named in its picture, dearest first; the table behind it holds them all.
MOST_WORKS = 7
# A letter of a name takes so much of the picture on a narrow phone (328 px wide, letters of 6 px).
LETTER_PERCENT = 1.95
MARK_PERCENT = 4.0
LONGEST_NAME = 24
STEPS = 6
GROWS = ("bud-swell", "end-of-growth")

Point = tuple[float, float]
"""x in per cent of the width, y from 0 (nothing open) to 1 (all)."""


@dataclass(frozen=True, slots=True)
class DrawnBloom:
    """The flowers open, as the most likely shape and as the widest that 8 years in 10 stay within."""

    likely: tuple[Point, ...]
    wide: tuple[Point, ...]
    seen: bool


@dataclass(frozen=True, slots=True)
class PictureGround:
    """A span of growth, by its middle dates."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class WorkMark:
    """A work on its day, with its name in a lane of its own where the names would meet."""

    x: float
    lane: int
    name: str
    day: str
    look: Literal["planned", "done"]
    left: bool  # the name stands left of the mark


@dataclass(frozen=True, slots=True)
class Dot:
    """The first flower of an earlier year, on the day of this one's axis."""

    x: float
    year: int
    day: str


@dataclass(frozen=True, slots=True)
class DrawnFact:
    """A line of the table behind the picture."""

    name: str
    when: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A season of one tree; `today` is None where it lies outside; `words` say it in a few sentences."""

    tree: str
    season: int
    months: tuple[tuple[float, str], ...]
    today: float | None
    grounds: tuple[PictureGround, ...]
    bloom: DrawnBloom | None
    dots: tuple[Dot, ...]
    works: tuple[WorkMark, ...]
    lanes: int
    stages: tuple[DrawnFact, ...]
    table: tuple[DrawnFact, ...]
    words: str


@dataclass(frozen=True, slots=True)
class _Stage:
    id: str
    title: str
    early: int
    middle: int
    late: int
    seen: bool


def tree_picture(
    tree: str,
    span: Span,
    season: int,
    today: int,
    rows: Iterable[StageRow],
    tasks: Sequence[Task],
    entries: Sequence[Entry],
    rules: TaxonRules,
    south: bool,
) -> Picture:
    """The picture of one season. `rows` are the tree's stages in the plan, `tasks` its works to come."""
    scale = Scale(span)
    of_season = [row for row in rows if row.season == season and row.stage in rules.stages]
    stages = {stage.id: stage for row in of_season if (stage := _stage(row, rules, span))}
    history = history_of(entries, rules, south)
    done = {key: sorted(days) for key, days in history.works.items()}
    bloom = _bloom(stages, rules, scale)
    dots = _dots(history.stages, rules, season, scale)
    works, lanes = _works(tasks, done, rules, scale)
    facts = tuple(_stage_fact(row, stages, rules) for row in sorted(of_season, key=_place))
    return Picture(
        tree,
        season,
        scale.months(),
        scale.middle(today) if today in span else None,
        _grounds(stages, scale),
        bloom,
        dots,
        works,
        lanes,
        facts,
        tuple(_work_facts(tasks, done, rules, span)),
        _words(tree, season, stages, bloom, dots, rules, works),
    )


def _stage(row: StageRow, rules: TaxonRules, span: Span) -> _Stage | None:
    early, middle, late = row.p10, row.p50, row.p90
    if middle is None or early is None:
        return None
    late = late if late is not None else span.end
    title = rules.stages[row.stage].title
    return _Stage(row.stage, title, early, middle, late, row.basis == "observed")


def _grounds(stages: Mapping[str, _Stage], scale: Scale) -> tuple[PictureGround, ...]:
    first, last = (stages.get(id) for id in GROWS)
    if first is None:
        return ()
    left, right = scale.x(first.middle), scale.x(last.middle if last is not None else scale.span.end)
    return (PictureGround(left, round(right - left, 2)),) if right > left else ()


def _bloom(stages: Mapping[str, _Stage], rules: TaxonRules, scale: Scale) -> DrawnBloom | None:
    curve = rules.taxon.bloom_curve
    flowering = [stages[id] for id, stage in rules.stages.items() if stage.flowering and id in stages]
    if curve is None or curve.since not in stages or not flowering:
        return None
    first, last = stages[curve.since], max(flowering, key=lambda stage: stage.middle)
    opens = [(first, 0.0)]
    for stage in flowering:
        share = rules.stages[stage.id].reached.share_open
        if share is not None and stage.middle > opens[-1][0].middle:
            opens.append((stage, share))
    peak = opens[-1][0] if len(opens) > 1 else None
    if last.middle <= first.middle:
        return None
    top = (peak.middle, peak.early, peak.late) if peak is not None else _between(first, last)
    rising = [(stage.middle, share) for stage, share in opens[:-1]]
    likely = [*rising, (top[0], 1.0), (max(last.middle, top[0]) + 1, 0.0)]
    early, late = max(top[1], first.early + 1), max(top[2], top[1] + 1, first.early + 2)
    wide = [(first.early, 0.0), (early, 1.0), (late, 1.0), (max(last.late, late) + 1, 0.0)]
    return DrawnBloom(_smooth(likely, scale), _smooth(wide, scale), first.seen)


def _between(first: _Stage, last: _Stage) -> tuple[int, int, int]:
    """A peak a third of the way where the pack names no share open."""
    middle = first.middle + (last.middle - first.middle) // 3
    return middle, middle - (first.middle - first.early), middle + (first.late - first.middle)


def _smooth(knots: Sequence[tuple[float, float]], scale: Scale) -> tuple[Point, ...]:
    """A smooth line through days and shares that never overshoots them (monotone cubic, Fritsch and
    Carlson 1980, with harmonic means for the slopes)."""
    slopes = [(y1 - y0) / (x1 - x0) for (x0, y0), (x1, y1) in pairwise(knots)]
    inner = [0.0 if a * b <= 0 else 2 * a * b / (a + b) for a, b in pairwise(slopes)]
    tangents = [0.0, *inner, 0.0]
    points = [(scale.x(knots[0][0]), knots[0][1])]
    for number, ((left, low), (right, high)) in enumerate(pairwise(knots)):
        wide = right - left
        for step in range(1, STEPS + 1):
            s = step / STEPS
            y = low * (1 + 2 * s) * (1 - s) ** 2 + high * s * s * (3 - 2 * s)
            y += wide * s * (1 - s) * (tangents[number] * (1 - s) - tangents[number + 1] * s)
            points.append((scale.x(left + wide * s), round(y, 3)))
    return tuple(points)


def _dots(
    seen: Mapping[tuple[str, int], int], rules: TaxonRules, season: int, scale: Scale
) -> tuple[Dot, ...]:
    curve = rules.taxon.bloom_curve
    if curve is None:
        return ()
    days = {of: day for (id, of), day in seen.items() if id == curve.since and of < season}
    return tuple(
        Dot(scale.middle(_moved(day, season - of)), of, short_day(day)) for of, day in sorted(days.items())
    )


def _moved(day: int, years: int) -> int:
    """The same day so many years later; 29 February becomes the 28th."""
    then = date.fromordinal(day)
    try:
        return then.replace(year=then.year + years).toordinal()
    except ValueError:
        return then.replace(year=then.year + years, day=28).toordinal()


def _works(
    tasks: Sequence[Task], done: Mapping[tuple[str, int], list[int]], rules: TaxonRules, scale: Scale
) -> tuple[tuple[WorkMark, ...], int]:
    """The works that count most, by day, and how many lanes their names need."""
    found: dict[tuple[str, int], tuple[int, str, Literal["planned", "done"]]] = {}
    for (id, _), days in done.items():
        rule = rules.rules.get(id)
        for day in days if rule is not None and rule.repeat is None else ():
            if day in scale.span:
                assert rule is not None
                found[id, day] = (LOSSES.index(rule.loss), rule.title, "done")
    for task in tasks:
        rule = rules.rules.get(task.rule)
        if rule is None or rule.repeat is not None or task.kind != "work" or task.way != "work" or task.done:
            continue
        if task.day in scale.span:
            found[task.rule, task.day] = (LOSSES.index(rule.loss), task.title, "planned")
    dearest = sorted(found.items(), key=lambda one: (one[1][0], one[0][1], one[0][0]))[:MOST_WORKS]
    marks: list[WorkMark] = []
    ends: list[list[tuple[float, float]]] = []
    for (_, day), (_, title, look) in sorted(dearest, key=lambda one: (one[0][1], one[0][0])):
        x, name = scale.middle(day), short_title(title)
        width = MARK_PERCENT + LETTER_PERCENT * len(name)
        left = x + width > 100
        taken = (x - width, x + 2) if left else (x - 2, x + width)
        lane = next((n for n, held in enumerate(ends) if _free(taken, held)), len(ends))
        if lane == len(ends):
            ends.append([])
        ends[lane].append(taken)
        marks.append(WorkMark(x, lane, name, short_day(day), look, left))
    return tuple(marks), len(ends)


def _free(wanted: tuple[float, float], held: Iterable[tuple[float, float]]) -> bool:
    return all(wanted[1] <= left or right <= wanted[0] for left, right in held)


def short_title(title: str) -> str:
    """A work's title as short as a mark can bear: what stands before the first comma or colon."""
    head = title.split(":")[0].split(",")[0].split(" (")[0].strip()
    return head if len(head) <= LONGEST_NAME else head[: LONGEST_NAME - 1].rstrip() + "…"


def _place(row: StageRow) -> tuple[float, str]:
    return row.p50 if row.p50 is not None else NEVER, row.stage


def _stage_fact(row: StageRow, stages: Mapping[str, _Stage], rules: TaxonRules) -> DrawnFact:
    title, stage = rules.stages[row.stage].title, stages.get(row.stage)
    if row.basis == "unknown":
        return DrawnFact(title, "not known, for want of weather")
    if stage is None:
        return DrawnFact(title, "not expected")
    if stage.seen:
        return DrawnFact(title, f"seen {short_day(stage.middle)}")
    until = short_day(stage.late) if row.p90 is not None else "never"
    return DrawnFact(
        title, f"about {short_day(stage.middle)}; 8 years in 10: {short_day(stage.early)} to {until}"
    )


def _work_facts(
    tasks: Sequence[Task], done: Mapping[tuple[str, int], list[int]], rules: TaxonRules, span: Span
) -> list[DrawnFact]:
    planned: defaultdict[tuple[str, int], list[Task]] = defaultdict(list)
    for task in tasks:
        if task.kind == "work" and not task.done and task.day in span:
            planned[task.rule, task.season].append(task)
    found: list[tuple[int, str, str]] = []
    for key in sorted({*planned, *done}):
        past = [day for day in done.get(key, ()) if day in span]
        coming = sorted(task.day for task in planned[key])
        if past or coming:
            title = planned[key][0].title if planned[key] else rules.rules[key[0]].title
            words = [f"done {_days(past)}"] if past else []
            words += [f"planned {_days(coming)}"] if coming else []
            found.append((min(past + coming), title, "; ".join(words)))
    return [DrawnFact(title, words) for _, title, words in sorted(found)]


def _days(days: Sequence[int]) -> str:
    if len(days) <= 2:
        return " and ".join(map(short_day, days))
    return f"{short_day(days[0])} and {len(days) - 1} times more until {short_day(days[-1])}"


def _words(
    tree: str,
    season: int,
    stages: Mapping[str, _Stage],
    bloom: DrawnBloom | None,
    dots: Sequence[Dot],
    rules: TaxonRules,
    works: Sequence[WorkMark],
) -> str:
    """The picture in sentences, for a screen reader and for the text beside it."""
    said = []
    curve = rules.taxon.bloom_curve
    if bloom is not None and curve is not None:
        first = stages[curve.since]
        spread = f", in 8 years of 10 between {short_day(first.early)} and {short_day(first.late)}"
        verb, spread = ("opened", "") if first.seen else ("opens about", spread)
        said.append(f"The first flower {verb} {short_day(first.middle)}{spread}.")
    elif curve is not None:
        said.append("No flowers are expected.")
    grows = [stages.get(id) for id in GROWS]
    if grows[0] is not None and grows[1] is not None:
        said.append(f"It grows from {short_day(grows[0].middle)} to {short_day(grows[1].middle)}.")
    if dots:
        said.append(f"Earlier first flowers: {', '.join(f'{dot.day} {dot.year}' for dot in dots)}.")
    named = [f"{mark.name} {'done ' if mark.look == 'done' else ''}{mark.day}" for mark in works]
    if named:
        said.append(f"The works that count: {', '.join(named)}.")
    return " ".join(said) or f"Nothing is known of {tree} in {season}."
