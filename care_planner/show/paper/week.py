"""A week on paper: by bench, with boxes to tick. Pure."""

from collections import defaultdict
from collections.abc import Collection as Some
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from care_planner.calendar.text import one_line
from care_planner.show.paper.away import named
from care_planner.show.paper.blocks import Block, PaperSheet, head, text
from care_planner.tasks.agenda import Walk, WalkItem, agenda
from care_planner.tasks.model import Task
from care_planner.tasks.rounds import urgency
from care_planner.words.conditions import what_words
from care_planner.words.days import day_words, short_day, weekday_words
from care_planner.words.names import bench_head

DAYS = 7
PaperRow = tuple[str, str, str, str]  # the day, what to do, on which trees, how long


def monday(day: int) -> int:
    """The Monday of a day's week (ordinals)."""
    return day - date.fromordinal(day).weekday()


def week_sheet(tasks: Iterable[Task], site: str, first: int) -> PaperSheet:
    """The works of seven days from `first` (ordinal) by bench; what the weather decides; cautions."""
    tasks = list(tasks)
    due = [task for task in tasks if _touches(task, first) and not task.done and not task.left]
    works = [task for task in due if task.way == "work"]
    walked = [item for walk in _walks(tasks, first) for item in walk.items]
    benches: defaultdict[str, list[PaperRow]] = defaultdict(list)
    for bench, row in [*_work_rows(works, first), *_walk_rows(walked)]:
        benches[bench].append(row)
    blocks: list[Block] = [text(_time_asked(works, walked))] if benches else []
    for bench, rows in sorted(benches.items()):
        blocks += [head(bench_head(bench)), Block("ticks", rows=tuple(rows))]
    blocks += _as_the_weather_turns(tasks, first)
    cautions = sorted({one_line(caution) for task in works for caution in task.cautions})
    if cautions:
        blocks += [head("Take care"), Block("list", rows=tuple((caution,) for caution in cautions))]
    if not benches:
        blocks.insert(0, text("No work is planned in this week."))
    return PaperSheet(
        f"week-{date.fromordinal(first)}",
        f"Week of {weekday_words(first)}",
        f"{site}, {day_words(first)}",
        tuple(blocks),
    )


def _touches(task: Task, first: int) -> bool:
    return task.day < first + DAYS and max(task.day, task.until or task.day) >= first


def _holds(task: Task, first: int) -> bool:
    until = max(day for day in (task.day, task.until) if day is not None)
    return task.way == "watch" and not task.done and task.day < first + DAYS and until >= first


def _as_the_weather_turns(tasks: Sequence[Task], first: int) -> list[Block]:
    """What the weather of a day decides, each with the trees that it is for: whoever helps knows none."""
    watches: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
    for task in tasks:
        if _holds(task, first):
            watches[task.title, what_words(task)].add(task.tree)
    if not watches:
        return []
    standing = _standing(tasks, first)
    rows = [
        (f"{title}. {what.rstrip('.')}. For: {_where(trees, standing)}.",)
        for (title, what), trees in sorted(watches.items())
    ]
    return [head("As the weather turns"), Block("list", rows=tuple(rows))]


def _standing(tasks: Iterable[Task], first: int) -> Mapping[str, str]:
    """The bench that each tree stands on in that week: that of its next work."""
    nearest: dict[str, Task] = {}
    for task in tasks:
        if max(task.day, task.until or task.day) >= first:
            nearest[task.tree] = min(
                nearest.get(task.tree, task), task, key=lambda one: (max(one.day, first), -one.day, one.key)
            )
    return {tree: task.bench for tree, task in nearest.items()}


def _where(trees: Some[str], standing: Mapping[str, str]) -> str:
    """`all trees`, or bench by bench: `all of the terrace; on north bench: kinsai`."""
    if len(standing) > 1 and standing.keys() <= set(trees):
        return "all trees"
    benches: defaultdict[str, set[str]] = defaultdict(set)
    for tree in trees:
        benches[standing.get(tree, "")].add(tree)
    parts = []
    for bench, on in sorted(benches.items()):
        whole = len(on) > 1 and on == {tree for tree, stands in standing.items() if stands == bench}
        parts.append(f"all of the {bench}" if whole else ", ".join(sorted(on)))
    return "; ".join(parts)


def _walks(tasks: Iterable[Task], first: int) -> list[Walk]:
    """The walk of that week, as every view counts it."""
    return [walk for walk in agenda(tasks, lambda monday: None).walks if walk.monday == first]


def _time_asked(works: Sequence[Task], walked: Sequence[WalkItem]) -> str:
    """What the week's works take, and its walk as the calendar and the pages count it."""
    parts = [f"{hours(sum(task.minutes for task in works))} of work"] if works else []
    parts += [f"a bench walk of {hours(round(sum(item.minutes for item in walked)))}"] if walked else []
    return f"{' and '.join(parts)}; watering and watching not counted.".capitalize()


def _work_rows(works: Sequence[Task], first: int) -> Iterator[tuple[str, PaperRow]]:
    """By bench a row for each work and day, dearest first within a day."""
    rounds: defaultdict[tuple[str, int, str], list[Task]] = defaultdict(list)
    for task in works:
        rounds[task.bench, max(task.day, first), task.title].append(task)
    ordered = sorted(rounds.items(), key=lambda one: (one[0][1], urgency(one[1])[0], one[0]))
    for (bench, day, title), held in ordered:
        closes = [task.window.closes for task in held if task.window.closes is not None]
        until = f", until {short_day(min(closes))}" if len(closes) == len(held) else ""
        minutes = sum(task.minutes for task in held)
        yield bench, (weekday_words(day), one_line(title), _names(held), f"{minutes} min{until}")


def _walk_rows(walked: Sequence[WalkItem]) -> Iterator[tuple[str, PaperRow]]:
    """By bench a row for each thing of the walk; the minutes, a bench's share, add up to the walk's."""
    passed = told = 0.0
    for item in walked:
        benches: defaultdict[str, list[Task]] = defaultdict(list)
        for task in item.tasks:
            benches[task.bench].append(task)
        alone = sum(task.minutes for task in item.tasks)
        for bench, held in sorted(benches.items()):
            passed += item.minutes * sum(task.minutes for task in held) / max(alone, 1)
            minutes = round(passed - told)
            told += minutes
            time = f"{minutes} min" if minutes else "under 1 min"
            yield bench, ("walk", one_line(item.title), _names(held), time)


def _names(tasks: Sequence[Task]) -> str:
    return named(sorted({task.tree for task in tasks}))


def hours(minutes: int) -> str:
    """`2 h 10 min`, `45 min`, `4 h`."""
    whole, rest = divmod(minutes, 60)
    return " ".join(
        part for part in (f"{whole} h" if whole else "", f"{rest} min" if rest or not whole else "") if part
    )
