"""One tree's season on one axis: bloom, growth and rest, the few works that count, what was noted."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from care_planner.journal.model import Entry
from care_planner.rulebook.pack import TaxonRules
from care_planner.show.pictures.bloom_shape import bloom_shape
from care_planner.show.pictures.drawn import (
    Dot,
    DrawnBloom,
    DrawnFact,
    DrawnStage,
    Picture,
    PictureGround,
    WorkMark,
)
from care_planner.show.pictures.scale import Scale
from care_planner.show.pictures.work_marks import work_marks
from care_planner.spans import NEVER, Span
from care_planner.stages.noted import history_of
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.words.days import short_day

GROWS = ("bud-swell", "end-of-growth")


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
    bloom = bloom_shape(stages, rules, scale)
    dots = _dots(history.stages, rules, season, scale)
    works, lanes = work_marks(tasks, done, rules, scale)
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


def _stage(row: StageRow, rules: TaxonRules, span: Span) -> DrawnStage | None:
    early, middle, late = row.p10, row.p50, row.p90
    if middle is None or early is None:
        return None
    late = late if late is not None else span.end
    title = rules.stages[row.stage].title
    return DrawnStage(row.stage, title, early, middle, late, row.basis == "observed")


def _grounds(stages: Mapping[str, DrawnStage], scale: Scale) -> tuple[PictureGround, ...]:
    first, last = (stages.get(id) for id in GROWS)
    if first is None:
        return ()
    left, right = scale.x(first.middle), scale.x(last.middle if last is not None else scale.span.end)
    return (PictureGround(left, round(right - left, 2)),) if right > left else ()


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


def _place(row: StageRow) -> tuple[float, str]:
    return row.p50 if row.p50 is not None else NEVER, row.stage


def _stage_fact(row: StageRow, stages: Mapping[str, DrawnStage], rules: TaxonRules) -> DrawnFact:
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
    found: list[tuple[int, str, str, bool]] = []
    for key in sorted({*planned, *done}):
        past = [day for day in done.get(key, ()) if day in span]
        coming = sorted(task.day for task in planned[key])
        if past or coming:
            title = planned[key][0].title if planned[key] else rules.rules[key[0]].title
            words = [f"done {_days(past)}"] if past else []
            words += [f"planned {_days(coming)}"] if coming else []
            rule = rules.rules.get(key[0])
            in_passing = rule is not None and rule.way != "work"
            found.append((min(past + coming), title, "; ".join(words), in_passing))
    return [DrawnFact(title, words, in_passing) for _, title, words, in_passing in sorted(found)]


def _days(days: Sequence[int]) -> str:
    if len(days) <= 2:
        return " and ".join(map(short_day, days))
    return f"{short_day(days[0])} and {len(days) - 1} times more until {short_day(days[-1])}"


def _words(
    tree: str,
    season: int,
    stages: Mapping[str, DrawnStage],
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
