"""The work page: late work first, then the week by bench, then what to look at."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from care_planner.calendar.text import clean_lines, one_line, percent, window_line
from care_planner.collection.model import Collection
from care_planner.collection.tree import Tree
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.serve.scope import Scope
from care_planner.tasks.model import Task, Window
from care_planner.words.chains import why_lines_of
from care_planner.words.days import weekday_words
from care_planner.words.moves import moved_words
from care_planner.years.move import NotDoneBy

DAYS_SHOWN = 7
REASONS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class TreeBox:
    """A tree as a box to tick: its id, and the name the grower gave it."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class Card:
    """The same work on the same bench on the same day, for all its trees. Texts are for people.

    `stage` is the stage that a look, or the look behind this work, would settle; `opens_flowers` says that a
    share open can be noted for it.
    """

    key: str
    title: str
    when: str
    bench: str
    trees: tuple[TreeBox, ...]
    rule: str
    is_look: bool
    is_late: bool
    firm: bool
    chance: str
    minutes: int
    window: str
    what: str
    moved: str
    cautions: tuple[str, ...]
    why: tuple[str, ...]
    stage: str
    stage_title: str
    opens_flowers: bool


@dataclass(frozen=True, slots=True)
class BenchWork:
    """The week's cards of one bench."""

    bench: str
    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True)
class WorkPage:
    """What the work page shows; `later` is the first work after the week, where there is any."""

    late: tuple[Card, ...]
    benches: tuple[BenchWork, ...]
    looks: tuple[Card, ...]
    later: str


def work_page(
    tasks: Iterable[Task], collection: Collection, rulebook: Rulebook, scope: Scope, today: int
) -> WorkPage:
    """Cards for the days from `today` on (ordinal); late ones whatever their day."""
    names = {tree.id: tree.name or "" for tree in collection.trees}
    rounds: defaultdict[tuple[object, ...], list[Task]] = defaultdict(list)
    later: list[Task] = []
    for task in tasks:
        if not scope.holds(task):
            continue
        if task.day < today + DAYS_SHOWN or _is_late(task, today):
            late = _is_late(task, today)
            again = _comes_again(task, rulebook)
            rounds[task.day, again, task.title, task.rule, task.kind, task.bench, late].append(task)
        else:
            later.append(task)
    cards = [_card(held, rulebook.taxa[held[0].taxon], names, today) for _, held in sorted(rounds.items())]
    benches: defaultdict[str, list[Card]] = defaultdict(list)
    for card in cards:
        if not card.is_late and not card.is_look:
            benches[card.bench].append(card)
    return WorkPage(
        tuple(card for card in cards if card.is_late),
        tuple(BenchWork(bench, tuple(held)) for bench, held in sorted(benches.items())),
        tuple(card for card in cards if card.is_look and not card.is_late),
        _later(later),
    )


def _comes_again(task: Task, rulebook: Rulebook) -> bool:
    """Whether it comes back by itself, such as watering: on its day it stands behind the rest."""
    rule = rulebook.taxa[task.taxon].rules.get(task.rule)
    return rule is not None and rule.repeat is not None


def _is_late(task: Task, today: int) -> bool:
    """Planned for a day that has passed without a note."""
    return task.day < today or (
        task.kind == "work" and task.move is not None and isinstance(task.move.cause, NotDoneBy)
    )


def _later(tasks: Sequence[Task]) -> str:
    works = [task for task in tasks if task.kind == "work"]
    if not works:
        return ""
    first = min(works, key=lambda task: (task.day, task.title))
    trees = sorted({task.tree for task in works if (task.day, task.title) == (first.day, first.title)})
    on = trees[0] if len(trees) == 1 else f"{len(trees)} trees"
    return f"{weekday_words(first.day)}: {first.title}, {on}"


def _card(tasks: Sequence[Task], rules: TaxonRules, names: dict[str, str], today: int) -> Card:
    first = tasks[0]
    stage = stage_to_settle(first, rules)
    curve = rules.taxon.bloom_curve
    chances = sorted({percent(task.chance) for task in tasks})
    same_move = len({task.move for task in tasks}) == 1
    return Card(
        key=first.key,
        title=one_line(first.title),
        when=when_words(first.day, today),
        bench=first.bench,
        trees=tuple(
            TreeBox(tree, one_line(names.get(tree, ""))) for tree in sorted({task.tree for task in tasks})
        ),
        rule=first.rule,
        is_look=first.kind == "look",
        is_late=_is_late(first, today),
        firm=all(task.firm for task in tasks),
        chance=f"{chances[0]} %" if len(chances) == 1 else f"{chances[0]} to {chances[-1]} %",
        minutes=sum(task.minutes for task in tasks),
        window=window_line(_any_window([task.window for task in tasks]), first.day),
        what=one_line(first.what),
        moved=one_line(moved_words(first.move)) if same_move else "",
        cautions=clean_lines(tuple(caution for task in tasks for caution in task.cautions)),
        why=clean_lines(why_lines_of(first))[:REASONS_SHOWN],
        stage=stage,
        stage_title=rules.stages[stage].title if stage else "",
        opens_flowers=curve is not None and curve.since == stage,
    )


def stage_to_settle(task: Task, rules: TaxonRules) -> str:
    """The stage a look is for, or whose sight would settle this work; empty where there is none."""
    if task.kind == "look":
        return task.stage if task.stage in rules.stages else ""
    look = rules.rules[task.rule].look if task.rule in rules.rules else None
    return look.stage if look is not None and not task.firm else ""


def when_words(day: int, today: int) -> str:
    """A day near today, in words."""
    return {today: "today", today + 1: "tomorrow"}.get(day, weekday_words(day))


def _any_window(windows: Sequence[Window]) -> Window:
    """The days that suit any of the trees."""
    opens = [window.opens for window in windows if window.opens is not None]
    closes = [window.closes for window in windows if window.closes is not None]
    whole = len(opens) == len(closes) == len(windows)
    return Window(min(opens), None, max(closes)) if whole else Window(None, None, None)


def tree_cards(tasks: Iterable[Task], rules: TaxonRules, tree: Tree, today: int, most: int) -> list[Card]:
    """The next `most` tasks of one tree, a card each; of work that comes again and again the first."""
    names = {tree.id: tree.name or ""}
    firsts: dict[tuple[str, str, int], Task] = {}
    for task in sorted(tasks, key=lambda task: (task.day, task.title)):
        firsts.setdefault((task.rule, task.kind, task.season), task)
    return [_card([task], rules, names, today) for task in list(firsts.values())[:most]]
