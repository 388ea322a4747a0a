"""The plan as text for a terminal of 80 columns: what this weekend, then the weeks, then the months."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from care_planner.collection.model import Collection
from care_planner.plan import Plan
from care_planner.rulebook.pack import TaxonRules
from care_planner.show.full_weeks import full_week_lines
from care_planner.show.wrapping import COLUMNS, wrapped
from care_planner.spans import monday_of
from care_planner.tasks.agenda import Agenda, Walk, Watch, agenda
from care_planner.tasks.model import Task, Window
from care_planner.tasks.rounds import Round
from care_planner.words.days import MONTHS, day_words, short_day, weekday_words
from care_planner.words.notices import notice_lines

WEEKS = 8
DAYS_LOOKED_AHEAD = 7
# More trees than this are counted by bench, unless everything is wanted.
MOST_NAMES = 12
# So many are named also where they are all there are.
MOST_ALL = 3
_INDENT = " " * 14
WEEKEND = (5, 6)
NO_TAXA: Mapping[str, TaxonRules] = {}


def plan_lines(
    plan: Plan, collection: Collection, everything: bool, taxa: Mapping[str, TaxonRules] = NO_TAXA
) -> Iterator[str]:
    """Today and this weekend, weeks with their works, a line a month, then what is not known."""
    whole = agenda(plan.tasks, collection.people.walk_day)
    yield from wrapped(
        f"{collection.site.name}: plan from {weekday_words(plan.today)} {_year(plan.today)}, "
        f"season {plan.season}"
    )
    told = _days_ahead(plan.today, collection)
    named = _Named(frozenset(plan.taxa) - frozenset(plan.left), everything)
    yield from _first_days(whole, plan.today, told, named)
    monday = monday_of(plan.today)
    end = plan.until + 1 if everything else monday + 7 * WEEKS
    days_told = range(plan.today, max(told, default=plan.today) + 1)
    for first in range(monday, end, 7):
        yield from _week(whole, first, min(first + 7, end), days_told, named)
    later = [task for task in plan.tasks if task.day >= end and task.way == "work"]
    if later:
        yield ""
        yield f"Later, to {day_words(plan.until)} (--all shows every day)"
        yield from _months(later)
    yield from full_week_lines(plan, collection, taxa)
    if plan.notices:
        yield ""
        yield "To know and to decide"
        for line in notice_lines(plan.notices):
            yield from wrapped(line, "  ", "    ")


def _year(day: int) -> int:
    return date.fromordinal(day).year


def _days_ahead(today: int, collection: Collection) -> list[int]:
    """The next favourite days: those of the weekend, where there are any."""
    people = collection.people
    ahead = [day for day in range(today, today + DAYS_LOOKED_AHEAD) if people.is_favourite(day)]
    return [day for day in ahead if date.fromordinal(day).weekday() in WEEKEND] or ahead


@dataclass(frozen=True, slots=True)
class _Named:
    """How trees are named: `every` one of the collection, and whether all names are wanted."""

    every: frozenset[str]
    everything: bool


def _first_days(whole: Agenda, today: int, favourite: Sequence[int], named: _Named) -> Iterator[str]:
    """Today, what cannot wait until the next favourite days, those days, and what goes on over them."""
    yield from _part("Today", whole, today, today + 1, named)
    if favourite:
        before = range(today + 1, favourite[0])
        weekend = all(date.fromordinal(day).weekday() in WEEKEND for day in favourite)
        if before:
            name = "Before the weekend" if weekend else "Before your next days"
            yield from _part(name, whole, before[0], before[-1] + 1, named)
        name = "This weekend" if weekend else "Your next days"
        first, end = max(favourite[0], today + 1), favourite[-1] + 1
        lines = list(_part(name, whole, first, end, named))
        yield from lines or ([] if first >= end else ["", name, "  Nothing"])
    going = [watch for watch in whole.between(today, today + 1).watches if watch.first < today]
    if going:
        yield ""
        yield "Goes on"
    for watch in going:
        until = f", until about {_near(watch.last, _year(today))}" if watch.last is not None else ""
        yield from wrapped(f"{watch.title}{until}", "  ", _INDENT)


def _part(name: str, whole: Agenda, first: int, end: int, named: _Named) -> Iterator[str]:
    """The days from `first` (in) to `end` (out) under a name; nothing where they hold nothing."""
    lines = [line for _, entry in _entries(whole.between(first, end), first, end, named) for line in entry]
    if lines:
        yield ""
        yield name
        yield from lines


def _week(whole: Agenda, first: int, end: int, told: range, named: _Named) -> Iterator[str]:
    """A week without the days told above it."""
    entries = _entries(whole.between(first, end), first, end, named)
    lines = [line for day, entry in entries if day not in told for line in entry]
    if lines:
        yield ""
        yield f"Week of {day_words(first)}"
        yield from lines


def _entries(held: Agenda, first: int, end: int, named: _Named) -> Iterator[tuple[int, list[str]]]:
    """What begins, ends or is to do on the days from `first` (in) to `end` (out), each with its day."""
    found: list[tuple[int, int, list[str]]] = []
    found += [(work.day, 0, list(_work(work, named))) for work in held.rounds if first <= work.day < end]
    found += [(walk.day, 1, list(_walk(walk, named))) for walk in held.walks]
    for watch in held.watches:
        if first <= watch.first < end:
            begins = "begins: " if watch.began is None else "goes on: "
            found.append((watch.first, 2, list(_watch(watch, watch.first, begins, named))))
        if watch.last is not None and first <= watch.last < end and watch.last > watch.first:
            found.append((watch.last, 2, list(_watch(watch, watch.last, "ends: ", named))))
    for day, _, lines in sorted(found, key=lambda one: one[:2]):
        yield day, lines


def _work(work: Round, named: _Named) -> Iterator[str]:
    yield from _line(work.day, f"{work.title}: {_trees(work.tasks, named)}")
    if work.until is not None and work.until <= work.day:
        window = "once"
    elif work.until is not None:
        window = f"until about {_near(work.until, _year(work.day))}"
    else:
        window = _window(work.window, work.day)
    firm = "" if work.firm else ", look first"
    yield from wrapped(f"{window}{firm}, {_minutes(work.minutes)}", _INDENT, _INDENT)


def _walk(walk: Walk, named: _Named) -> Iterator[str]:
    count = len(walk.items)
    head = f"Bench walk: {count} {'thing' if count == 1 else 'things'}, {_minutes(walk.minutes)}"
    yield from _line(walk.day, head)
    if named.everything:
        for item in walk.items:
            yield from wrapped(f"{item.title}: {_trees(item.tasks, named)}", _INDENT, _INDENT + "  ")


def _watch(watch: Watch, day: int, what: str, named: _Named) -> Iterator[str]:
    yield from _line(day, f"{what}{watch.title}: {_trees(watch.tasks, named)}")


def _line(day: int, text: str) -> list[str]:
    return wrapped(f"  {weekday_words(day):<10}  {text}", "", _INDENT)


def _minutes(minutes: int) -> str:
    return f"{minutes} min" if minutes < 90 else f"{minutes / 60:.1f} h".replace(".0 h", " h")


def _trees(tasks: Sequence[Task], named: _Named) -> str:
    """Names, or where they are many how many stand on each bench."""
    trees = {task.tree: task.bench for task in tasks}
    if named.everything:
        return ", ".join(sorted(trees))
    if len(trees) > MOST_ALL and trees.keys() == named.every:
        return "all trees"
    if len(trees) <= MOST_NAMES:
        return ", ".join(sorted(trees))
    benches = Counter(trees.values())
    return ", ".join(f"{count} on {bench}" for bench, count in sorted(benches.items()))


def _window(window: Window, day: int) -> str:
    if window.opens is None or window.closes is None:
        return "no window in most years"
    first, last = (_near(at, _year(day)) for at in (window.opens, window.closes))
    return f"best {first} to {last}"


def _near(day: int, year: int) -> str:
    """A day, with its year where that is another than the one beside it."""
    return short_day(day) if _year(day) == year else day_words(day)


def _months(tasks: Iterable[Task]) -> Iterator[str]:
    """A line a month; the works that take longest come first, since those want planning."""
    months: defaultdict[tuple[int, int], defaultdict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for task in tasks:
        day = date.fromordinal(task.day)
        months[day.year, day.month][task.title].append(task.minutes)
    for (year, month), titles in sorted(months.items()):
        works = sum(len(minutes) for minutes in titles.values())
        head = f"  {MONTHS[month - 1]} {year} {works:>5} {'work: ' if works == 1 else 'works:'} "
        longest = sorted(titles.items(), key=lambda item: (-max(item[1]), item[0]))
        yield head + _fitting(
            [f"{title.split(', ')[0].removesuffix('?')} ({len(minutes)})" for title, minutes in longest],
            COLUMNS - len(head),
        )


def _fitting(names: list[str], width: int) -> str:
    """As many names as a line holds; a name too long for a line of its own is passed over for the next."""
    shown: list[str] = []
    for name in names:
        left = len(names) - len(shown) - 1
        longer = ", ".join([*shown, name])
        if len(longer) + (len(f", and {left} more") if left else 0) <= width:
            shown.append(name)
        elif shown:
            break
    left = len(names) - len(shown)
    if not shown:
        return f"{left} more"
    return ", ".join(shown) + (f", and {left} more" if left else "")
