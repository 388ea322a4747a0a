"""The plan as text for a terminal of 80 columns."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from textwrap import wrap

from care_planner.plan import Plan
from care_planner.tasks.model import Task, Window
from care_planner.words.days import MONTHS, day_words, short_day, weekday_words
from care_planner.words.notices import notice_lines

COLUMNS = 80
WEEKS = 8
# More trees than this are counted by bench, unless everything is wanted.
MOST_NAMES = 12
_INDENT = " " * 14


def plan_lines(plan: Plan, site: str, everything: bool) -> Iterator[str]:
    """Weeks with their works, then a line a month, then what is unknown and why."""
    yield from wrapped(
        f"{site}: plan from {weekday_words(plan.today)} {_year(plan.today)}, season {plan.season}"
    )
    monday = plan.today - date.fromordinal(plan.today).weekday()
    end = plan.until + 1 if everything else monday + 7 * WEEKS
    yield from _weeks([task for task in plan.tasks if task.day < end], monday, everything)
    later = [task for task in plan.tasks if task.day >= end]
    if later:
        yield ""
        yield f"Later, to {day_words(plan.until)} (--all shows every day)"
        yield from _months(later)
    if plan.notices:
        yield ""
        yield "To know and to decide"
        for line in notice_lines(plan.notices):
            yield from wrapped(line, "  ", "    ")


def _year(day: int) -> int:
    return date.fromordinal(day).year


def _weeks(tasks: Sequence[Task], monday: int, everything: bool) -> Iterator[str]:
    weeks: defaultdict[int, list[Task]] = defaultdict(list)
    for task in tasks:
        weeks[(task.day - monday) // 7].append(task)
    for week, held in sorted(weeks.items()):
        first = monday + 7 * week
        yield ""
        yield f"Week of {day_words(first)}"
        works: defaultdict[tuple[int, str, str, bool], list[Task]] = defaultdict(list)
        for task in held:
            works[task.day, task.title, task.kind, task.firm].append(task)
        for (day, title, _, _), same in sorted(works.items()):
            yield from _work(day, title, same, everything)


def _work(day: int, title: str, tasks: list[Task], everything: bool) -> Iterator[str]:
    trees = _trees(tasks, everything)
    yield from wrapped(f"  {weekday_words(day):<10}  {title}: {trees}", "", _INDENT)
    if tasks[0].kind == "look":
        return
    chances = sorted({round(task.chance * 100) for task in tasks})
    chance = f"{chances[0]} %" if len(chances) == 1 else f"{chances[0]} to {chances[-1]} %"
    firm = "firm" if tasks[0].firm else "provisional"
    minutes = sum(task.minutes for task in tasks)
    yield from wrapped(f"{_window(tasks, day)}, chance {chance}, {firm}, {minutes} min", _INDENT, _INDENT)


def _trees(tasks: list[Task], everything: bool) -> str:
    """Names, or where they are many how many stand on each bench."""
    if everything or len(tasks) <= MOST_NAMES:
        return ", ".join(sorted(task.tree for task in tasks))
    benches = Counter(task.bench for task in tasks)
    return ", ".join(f"{count} on {bench}" for bench, count in sorted(benches.items()))


def _window(tasks: Iterable[Task], day: int) -> str:
    windows: list[Window] = [task.window for task in tasks]
    opens = [w.opens for w in windows if w.opens is not None]
    closes = [w.closes for w in windows if w.closes is not None]
    if not opens or not closes:
        return "no window in most years"
    year = date.fromordinal(day).year
    first, last = (_near(at, year) for at in (min(opens), max(closes)))
    return f"window {first} to {last}"


def _near(day: int, year: int) -> str:
    """A day, with its year where that is another than the one beside it."""
    return short_day(day) if date.fromordinal(day).year == year else day_words(day)


def _months(tasks: Sequence[Task]) -> Iterator[str]:
    """A line a month; the works that take longest come first, since those want planning."""
    months: defaultdict[tuple[int, int], defaultdict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for task in tasks:
        day = date.fromordinal(task.day)
        months[day.year, day.month][task.title].append(task.minutes)
    for (year, month), titles in sorted(months.items()):
        works = sum(len(minutes) for minutes in titles.values())
        head = f"  {MONTHS[month - 1]} {year} {works:>5} works: "
        longest = sorted(titles.items(), key=lambda item: (-max(item[1]), item[0]))
        yield head + _fitting([f"{title} {len(minutes)}" for title, minutes in longest], COLUMNS - len(head))


def _fitting(names: list[str], width: int) -> str:
    """As many names as a line holds."""
    text = ""
    for i, name in enumerate(names):
        more = f", and {len(names) - i} more"
        longer = f"{text}, {name}" if text else name
        if len(longer) + (len(more) if i + 1 < len(names) else 0) > width:
            return text + more if text else more.removeprefix(", and ").strip()
        text = longer
    return text


def wrapped(text: str, first: str = "", rest: str = "  ") -> list[str]:
    """A text in lines of at most 80 columns."""
    return wrap(text, COLUMNS, initial_indent=first, subsequent_indent=rest, break_long_words=True) or [""]
