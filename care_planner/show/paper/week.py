"""A week on paper: by bench, with boxes to tick. Pure."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from care_planner.calendar.text import one_line
from care_planner.rulebook.rule import LOSSES
from care_planner.show.paper.away import named
from care_planner.show.paper.blocks import Block, PaperSheet, head, text
from care_planner.tasks.model import Task
from care_planner.words.conditions import what_words
from care_planner.words.days import day_words, short_day, weekday_words

DAYS = 7


def monday(day: int) -> int:
    """The Monday of a day's week (ordinals)."""
    return day - date.fromordinal(day).weekday()


def week_sheet(tasks: Iterable[Task], site: str, first: int) -> PaperSheet:
    """The works of seven days from `first` (ordinal) by bench; what the weather decides; cautions."""
    due = [task for task in tasks if _touches(task, first) and not task.done and not task.left]
    benches: defaultdict[str, list[Task]] = defaultdict(list)
    for task in due:
        if task.way in ("work", "walk"):
            benches[task.bench].append(task)
    minutes = sum(task.minutes for task in due if task.way == "work")
    blocks: list[Block] = [text(f"{hours(minutes)} of work, walk and watch not counted.")] if minutes else []
    for bench, held in sorted(benches.items()):
        blocks += [head(f"Bench {bench}"), Block("ticks", rows=tuple(_rows(held, first)))]
    watches = sorted({(task.title, what_words(task)) for task in tasks if _holds(task, first)})
    if watches:
        blocks += [
            head("As the weather turns"),
            Block("list", rows=tuple((f"{title}. {what}",) for title, what in watches)),
        ]
    cautions = sorted({one_line(caution) for task in due if task.way == "work" for caution in task.cautions})
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


def _rows(tasks: Sequence[Task], first: int) -> list[tuple[str, ...]]:
    """A row for each work and day, dearest first within a day: day, work, trees, minutes and until when."""
    rounds: defaultdict[tuple[int, int, str], list[Task]] = defaultdict(list)
    for task in tasks:
        day = max(task.day, first) if task.way == "work" else first + DAYS
        rounds[day, LOSSES.index(task.loss), task.title].append(task)
    return [
        _row(day, title, held, first)
        for (day, _, title), held in sorted(rounds.items(), key=lambda one: one[0])
    ]


def _row(day: int, title: str, held: Sequence[Task], first: int) -> tuple[str, ...]:
    trees = named(sorted({task.tree for task in held}))
    closes = [task.window.closes for task in held if task.window.closes is not None]
    until = f", until {short_day(min(closes))}" if len(closes) == len(held) and held[0].way == "work" else ""
    when = weekday_words(day) if day < first + DAYS else "walk"
    return when, one_line(title), trees, f"{sum(task.minutes for task in held)} min{until}"


def hours(minutes: int) -> str:
    """`2 h 10 min`, `45 min`, `4 h`."""
    whole, rest = divmod(minutes, 60)
    return " ".join(
        part for part in (f"{whole} h" if whole else "", f"{rest} min" if rest or not whole else "") if part
    )
