"""What a new plan changes in the one published before: missed, moved, gone, new; by how much and why."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.rule import LOSSES
from care_planner.show.wrapping import wrapped
from care_planner.tasks.model import Task
from care_planner.words.days import day_words, short_day
from care_planner.words.fates import why_not
from care_planner.words.moves import cause_words
from care_planner.years.previous import PreviousPlan, PreviousTask

LEFT = {"sold": "sold", "dead": "dead", "lent": "lent", "given-away": "given away"}
MOST_TO_KNOW = 7
TITLES = ("Missed, said once", "Moved", "Gone", "New", "Left, said once")
_ROUTINE = len(LOSSES)
MISSED, LEFT_PLAN = 0, 4  # places in `TITLES`
# What changes in works further off is counted only: nobody acts on it yet (starting value).
NEAR_DAYS = 92


@dataclass(frozen=True, slots=True)
class Change:
    """One change on one tree: its kind, a place in `TITLES`, its words, and how dear it is (0: the tree)."""

    kind: int
    words: str
    tree: str
    dear: int
    day: int  # the day it is about: of equally dear ones the sooner comes first


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """One kind of change (missed, moved, gone, new) and a line for each, not wrapped."""

    title: str
    lines: tuple[str, ...]


def change_lines(
    previous: PreviousPlan, plan: Plan, rulebook: Rulebook, everything: bool = False
) -> Iterator[str]:
    """Lines of 80 columns: what must be known, the dearest first, and the rest as counts, or everything.

    Nothing where there was no plan before or nothing changed.
    """
    if everything:
        groups = list(change_groups(previous, plan, rulebook))
    else:
        groups = list(_to_know(changes(previous, plan, rulebook), plan.today))
    for group in groups:
        yield ""
        yield group.title
        for line in group.lines:
            yield from wrapped(line, "  ", "    ")


def change_groups(previous: PreviousPlan, plan: Plan, rulebook: Rulebook) -> Iterator[ChangeGroup]:
    """What changed, by kind, the dearest first; nothing where there was no plan before or nothing changed."""
    lines: defaultdict[int, list[str]] = defaultdict(list)
    for kind, line, _ in _lines(changes(previous, plan, rulebook)):
        lines[kind].append(line)
    for kind, title in enumerate(TITLES):
        if lines[kind]:
            yield ChangeGroup(title, tuple(lines[kind]))


def changes(previous: PreviousPlan, plan: Plan, rulebook: Rulebook) -> list[Change]:
    """Every change on every tree."""
    if not previous.trees:
        return []
    now = {task.key: task for task in (*plan.tasks, *plan.done)}
    return [
        *_missed(previous, plan, rulebook),
        *_moved(previous, plan),
        *_gone(previous, plan, now, rulebook),
        *_new(previous, plan),
        *_left(previous, plan),
    ]


def _lines(found: Iterable[Change]) -> list[tuple[int, str, int]]:
    """(kind, line, dearness) with the trees of equal words in one line, the dearest first."""
    trees: defaultdict[tuple[int, int, int, str], set[str]] = defaultdict(set)
    for change in found:
        trees[change.dear, change.day, change.kind, change.words].add(change.tree)
    return [
        (kind, f"{', '.join(sorted(held))}: {words}", dear)
        for (dear, _, kind, words), held in sorted(trees.items())
    ]


def _to_know(found: Sequence[Change], today: int) -> Iterator[ChangeGroup]:
    """At most `MOST_TO_KNOW` lines on what costs something, first what was missed and trees that left, then
    what changes in the next months; of the rest how many there are."""
    lines = _lines(found)
    near = _lines([one for one in found if one.day < today + NEAR_DAYS or one.kind in (MISSED, LEFT_PLAN)])
    near.sort(key=lambda line: line[0] not in (MISSED, LEFT_PLAN))
    shown = [line for _, line, dear in near if dear < _ROUTINE][:MOST_TO_KNOW]
    if shown:
        yield ChangeGroup("What you must know", tuple(shown))
    rest = Counter(kind for kind, line, _ in lines if line not in shown)
    if rest:
        counts = (
            f"{rest[kind]} {title.split(',')[0].lower()}" for kind, title in enumerate(TITLES) if rest[kind]
        )
        yield ChangeGroup("Other changes (--all names them)", (", ".join(counts),))


def _dear(rule: str, tree: str, plan: Plan, rulebook: Rulebook) -> int:
    """How dear a work is: the place of its loss, and last what only a walk or a standing rule tells."""
    taxon = plan.taxa.get(tree)
    known = rulebook.taxa[taxon].rules.get(rule) if taxon is not None else None
    return _ROUTINE if known is None or known.way in ("walk", "standing") else LOSSES.index(known.loss)


def _dear_task(task: Task) -> int:
    return _ROUTINE if task.way in ("walk", "standing") else LOSSES.index(task.loss)


def _day(day: int, plan: Plan) -> str:
    """A day, with its year where that is not the one planned from."""
    this_year = date.fromordinal(day).year == date.fromordinal(plan.today).year
    return short_day(day) if this_year else day_words(day)


def _before(previous: PreviousPlan, plan: Plan) -> Iterator[tuple[str, str, PreviousTask]]:
    for tree, told in previous.trees.items():
        if tree in plan.fates:
            for part, task in told.tasks.items():
                yield tree, part, task


def _missed(previous: PreviousPlan, plan: Plan, rulebook: Rulebook) -> Iterator[Change]:
    """Work whose window closed since the last plan without a note: what it costs. What is asked of a tree is
    not said again."""
    asked = {(tree, one.rule, one.season) for one in plan.questions for tree in one.trees}
    for tree, part, task in _before(previous, plan):
        fate = plan.fates[tree].get((task.rule, task.season))
        single = task.kind == "work" and part.endswith("/1/work")
        single = single and (tree, task.rule, task.season) not in asked
        if single and task.day < plan.today and fate is not None and fate.state in ("past", "open"):
            rule = rulebook.taxa[plan.taxa[tree]].rules.get(task.rule)
            if rule is None or (rule.missed is None and rule.asks is None):
                continue  # routine is never reproached
            done, of = plan.part_done.get((tree, task.rule, task.season), (0, 0))
            rest = f"{done} of {of} are done, no note tells of the other {of - done}"
            silent = rest if done else "no note says that it was done"
            words = f"{task.title}, due {_day(task.day, plan)}: {silent}"
            words = f"{words}. {rule.missed}" if rule.missed else words
            yield Change(MISSED, words, tree, LOSSES.index(rule.loss), task.day)


def _moved(previous: PreviousPlan, plan: Plan) -> Iterator[Change]:
    told = set()
    for task in plan.tasks:
        series = (task.tree, task.rule, task.season, task.kind)
        before = previous.of(task.tree).tasks.get(task.part)
        if before is None or before.day == task.day or task.move is None or series in told:
            continue
        told.add(series)  # of work that comes again and again the first round speaks for all
        days = task.day - before.day
        unit = "day" if abs(days) == 1 else "days"
        reason = cause_words(task.move.cause)
        words = f"{task.title} to {_day(task.day, plan)} ({days:+d} {unit}): {reason}"
        yield Change(1, words, task.tree, _dear_task(task), task.day)


def _gone(
    previous: PreviousPlan, plan: Plan, now: Mapping[str, Task], rulebook: Rulebook
) -> Iterator[Change]:
    told: set[tuple[str, str, int]] = set()
    for tree, part, task in _before(previous, plan):
        if task.kind != "work" or task.day < plan.today or f"{tree}/{part}" in now:
            continue
        fate = plan.fates[tree].get((task.rule, task.season))
        if fate is not None and (tree, task.rule, task.season) not in told:
            told.add((tree, task.rule, task.season))
            words = f"{task.title} of {_day(task.day, plan)}: {why_not(fate.reason)}"
            yield Change(2, words, tree, _dear(task.rule, tree, plan, rulebook), task.day)


def _left(previous: PreviousPlan, plan: Plan) -> Iterator[Change]:
    """Trees that have left since the last plan; what they had is in no calendar any more."""
    for tree, (day, why) in plan.left.items():
        if tree in previous.trees and previous.of(tree).tasks:
            words = f"{LEFT[why]} on {_day(day, plan)}; its work is out of the calendar, its notes stay"
            yield Change(LEFT_PLAN, words, tree, 0, plan.today)


def _new(previous: PreviousPlan, plan: Plan) -> Iterator[Change]:
    """Works that were not in the last plan at all, on the first of their days."""
    known = {
        (tree, task.rule, task.season)
        for tree, told in previous.trees.items()
        for task in told.tasks.values()
    }
    horizon = max((t.day for told in previous.trees.values() for t in told.tasks.values()), default=0)
    for task in plan.tasks:
        key = (task.tree, task.rule, task.season)
        if task.kind == "work" and key not in known and task.day <= horizon:
            known.add(key)
            words = f"{task.title} on {_day(task.day, plan)}"
            yield Change(3, words, task.tree, _dear_task(task), task.day)
