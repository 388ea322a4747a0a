"""The day: what was missed, today, tomorrow, this week, the bench walk as one list, looks a row a tree."""

from collections import defaultdict
from collections.abc import Collection as Some
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from zlib import crc32

from care_planner.calendar.text import clean_lines, one_line, percent, window_line
from care_planner.collection.model import Collection
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.serve.scope import Scope
from care_planner.show.paper.week import hours
from care_planner.tasks.agenda import agenda
from care_planner.tasks.model import Task, Window
from care_planner.tasks.questions import Question
from care_planner.tasks.rounds import urgency
from care_planner.words.chains import why_lines_of
from care_planner.words.days import short_day, weekday_words
from care_planner.words.moves import moved_words
from care_planner.years.move import NotDoneBy

WEEK_DAYS = 7
REASONS_SHOWN = 12
TREES_NAMED = 4

Noted = frozenset[tuple[str, str]]
"""Trees with the work or the stage that was noted of them since the plan was made."""


@dataclass(frozen=True, slots=True)
class TreeBox:
    """A tree to answer for: its id, the grower's name for it, and whether it was answered a moment ago."""

    id: str
    name: str
    noted: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """The same work on the same day for several trees, or the same look. Texts are for people."""

    id: str
    rule: str
    title: str
    trees: tuple[TreeBox, ...]
    benches: str
    when: str
    until: str
    minutes: str
    is_look: bool
    firm: bool
    what: str
    why: str
    moved: str
    chance: str
    window: str
    cautions: tuple[str, ...]
    reasons: tuple[str, ...]
    stage: str
    stage_title: str
    opens_flowers: bool

    @property
    def open_trees(self) -> tuple[TreeBox, ...]:
        """Trees that were not answered yet."""
        return tuple(tree for tree in self.trees if not tree.noted)

    @property
    def on(self) -> str:
        """The trees in few words."""
        if len(self.trees) <= TREES_NAMED:
            return ", ".join(tree.id for tree in self.trees)
        return f"{len(self.trees)} trees"


@dataclass(frozen=True, slots=True)
class DayPart:
    """Cards under a head such as `Today, 2 h 10 min`."""

    id: str
    title: str
    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True)
class DayWalkItem:
    """A thing to tick on the walk: `value` names it to the server."""

    value: str
    title: str
    on: str
    what: str
    noted: bool


@dataclass(frozen=True, slots=True)
class DayWalk:
    """The bench walk of the week: items by bench, and its minutes in words."""

    minutes: str
    benches: tuple[tuple[str, tuple[DayWalkItem, ...]], ...]

    @property
    def number(self) -> int:
        """How many things are not ticked yet."""
        return sum(not item.noted for _, items in self.benches for item in items)


@dataclass(frozen=True, slots=True)
class DayWatch:
    """What the weather of the day decides, and on which trees."""

    title: str
    what: str
    on: str
    until: str


@dataclass(frozen=True, slots=True)
class AskedRow:
    """Work of which no note tells: the question, and the trees that wait for an answer."""

    id: str
    rule: str
    title: str
    words: str
    trees: tuple[TreeBox, ...]


@dataclass(frozen=True, slots=True)
class DayPage:
    """What the page of the day shows; `later` is the first work after the week, where there is any."""

    missed: tuple[Card, ...]
    parts: tuple[DayPart, ...]
    walk: DayWalk | None
    looks: tuple[Card, ...]
    watches: tuple[DayWatch, ...]
    later: str
    left: tuple[str, ...] = ()  # works for which nobody has time


def day_page(
    tasks: Iterable[Task],
    collection: Collection,
    rulebook: Rulebook,
    scope: Scope,
    today: int,
    noted: Noted = frozenset(),
) -> DayPage:
    """Everything for the days from `today` (ordinal) to the end of the week that follows."""
    names = {tree.id: one_line(tree.name or "") for tree in collection.trees}
    shown = [task for task in tasks if scope.holds(task) and not task.done]
    whole = agenda(shown, collection.people.walk_day)
    near = whole.between(today, today + WEEK_DAYS)
    before = [task for one in whole.rounds if one.day < today for task in one.tasks]
    coming = [task for one in near.rounds for task in one.tasks]
    both = {task.key: task for task in (*before, *coming)}.values()
    missed = [task for task in both if is_missed(task, today) and _can_still_be_done(task, today)]
    late = {task.key for task in missed}
    due = [task for task in coming if task.key not in late]
    walked = [task for walk in near.walks for item in walk.items for task in item.tasks]

    def cards(of: Iterable[Task]) -> tuple[Card, ...]:
        return tuple(_cards(of, rulebook, names, today, noted))

    heads = (("today", "Today", 0, 1), ("tomorrow", "Tomorrow", 1, 2), ("week", "This week", 2, WEEK_DAYS))
    parts = []
    for id, title, first, end in heads:
        held = [task for task in due if today + first <= max(task.day, today) < today + end]
        minutes = sum(task.minutes for task in held)
        parts.append(DayPart(id, f"{title}, {hours(minutes)}" if held else title, cards(held)))
    return DayPage(
        cards(missed),
        tuple(parts),
        _walk([task for task in walked if task.kind == "work"], noted),
        cards(task for task in walked if task.kind == "look"),
        tuple(_watch(one.tasks) for one in near.watches),
        _later([task for one in whole.rounds if one.day >= today + WEEK_DAYS for task in one.tasks]),
        tuple(f"{one.title}: {', '.join(one.trees)}" for one in near.left),
    )


def asked_cards(
    questions: Iterable[Question], trees: Some[str], names: Mapping[str, str], today: int, noted: Noted
) -> list[AskedRow]:
    """What waits for an answer on `trees`, without those answered a moment ago."""
    found = []
    for asked in questions:
        left = [tree for tree in asked.trees if tree in trees and (tree, asked.rule) not in noted]
        if left and asked.since <= today:
            boxes = tuple(TreeBox(tree, names.get(tree, "")) for tree in left)
            id = f"q-{crc32(asked.key.encode()):08x}"
            found.append(AskedRow(id, asked.rule, one_line(asked.title), _question(asked), boxes))
    return found


def _question(asked: Question) -> str:
    missed = f" If not done: {asked.missed[0].lower()}{asked.missed[1:]}." if asked.missed else ""
    return one_line(f"Its time was over on {short_day(asked.since - 1)}. {asked.asks}{missed}")


def is_missed(task: Task, today: int) -> bool:
    """Planned for a day that has passed without a note."""
    moved = task.move is not None and isinstance(task.move.cause, NotDoneBy)
    return task.kind == "work" and (moved or (task.day < today and task.until is None))


def _can_still_be_done(task: Task, today: int) -> bool:
    return task.window.closes is None or task.window.closes >= today


def _urgency(tasks: Sequence[Task]) -> tuple[object, ...]:
    """Dearest first, then what closes sooner."""
    return (*urgency(tasks), tasks[0].title)


def _cards(
    tasks: Iterable[Task], rulebook: Rulebook, names: Mapping[str, str], today: int, noted: Noted
) -> list[Card]:
    """The same work on one day is one card, whatever its benches; the same look one, whatever its days."""
    rounds: defaultdict[tuple[object, ...], dict[str, Task]] = defaultdict(dict)
    for task in sorted(tasks, key=lambda task: (task.day, task.tree, task.key)):
        place = (task.stage,) if task.kind == "look" else (task.day, task.rule)
        rounds[task.kind, task.title, *place].setdefault(task.tree, task)
    ordered = sorted((list(held.values()) for held in rounds.values()), key=_urgency)
    return [_card(held, rulebook.taxa[held[0].taxon], names, today, noted) for held in ordered]


def _card(
    tasks: Sequence[Task], rules: TaxonRules, names: Mapping[str, str], today: int, noted: Noted
) -> Card:
    first = tasks[0]
    stage, rule, curve = stage_to_settle(first, rules), rules.rules.get(first.rule), rules.taxon.bloom_curve
    word = stage if first.kind == "look" else first.rule
    chances = sorted({percent(task.chance) for task in tasks})
    closes = [task.window.closes for task in tasks if task.window.closes is not None]
    same_move = len({task.move for task in tasks}) == 1
    benches = sorted({task.bench for task in tasks})
    return Card(
        id=card_id(first),
        rule=first.rule,
        title=one_line(first.title),
        trees=tuple(
            TreeBox(tree, names.get(tree, ""), (tree, word) in noted)
            for tree in sorted({t.tree for t in tasks})
        ),
        benches=", ".join(benches),
        when=when_words(first.day, today),
        until=f"until {short_day(min(closes))}" if len(closes) == len(tasks) else "",
        minutes=hours(sum(task.minutes for task in tasks)),
        is_look=first.kind == "look",
        firm=all(task.firm for task in tasks),
        what=one_line(first.what),
        why=one_line(rule.why) if rule is not None and first.kind == "work" else "",
        moved=one_line(moved_words(first.move)) if same_move else "",
        chance=f"{chances[0]} %" if len(chances) == 1 else f"{chances[0]} to {chances[-1]} %",
        window=window_line(_any_window([task.window for task in tasks]), first.day),
        cautions=clean_lines(tuple(caution for task in tasks for caution in task.cautions)),
        reasons=clean_lines(why_lines_of(first))[:REASONS_SHOWN],
        stage=stage,
        stage_title=rules.stages[stage].title if stage else "",
        opens_flowers=curve is not None and curve.since == stage,
    )


def card_id(task: Task) -> str:
    """Names a card on its page, the same after a new plan."""
    return f"c-{crc32(task.key.encode()):08x}"


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


def _walk(tasks: Sequence[Task], noted: Noted) -> DayWalk | None:
    """What is looked at or given in passing, by bench; each thing once for the trees that stand there."""
    if not tasks:
        return None
    benches: defaultdict[str, defaultdict[tuple[str, str], dict[str, Task]]] = defaultdict(
        lambda: defaultdict(dict)
    )
    for task in tasks:
        benches[task.bench][task.rule, task.title].setdefault(task.tree, task)
    found = []
    for bench, held in sorted(benches.items()):
        alike = sorted((list(same.values()) for same in held.values()), key=_urgency)
        found.append((bench, tuple(_item(same, noted) for same in alike)))
    once = {(task.tree, task.rule): task.minutes for task in tasks}
    return DayWalk(hours(sum(once.values())), tuple(found))


def _item(tasks: Sequence[Task], noted: Noted) -> DayWalkItem:
    trees = sorted(task.tree for task in tasks)
    return DayWalkItem(
        f"{tasks[0].rule}/{','.join(trees)}",
        one_line(tasks[0].title),
        ", ".join(trees) if len(trees) <= TREES_NAMED else f"{len(trees)} trees",
        one_line(tasks[0].what),
        all((tree, tasks[0].rule) in noted for tree in trees),
    )


def _watch(tasks: Sequence[Task]) -> DayWatch:
    trees = sorted({task.tree for task in tasks})
    ends = [task.until for task in tasks]
    known = [end for end in ends if end is not None]
    until = f"until {short_day(max(known))}" if len(known) == len(ends) else ""
    on = ", ".join(trees) if len(trees) <= TREES_NAMED else f"{len(trees)} trees"
    return DayWatch(one_line(tasks[0].title), one_line(tasks[0].what), on, until)


def _later(tasks: Iterable[Task]) -> str:
    works = list(tasks)
    if not works:
        return ""
    first = min(works, key=lambda task: (task.day, task.title))
    trees = sorted({task.tree for task in works if (task.day, task.title) == (first.day, first.title)})
    on = trees[0] if len(trees) == 1 else f"{len(trees)} trees"
    return f"{weekday_words(first.day)}: {first.title}, {on}"


def tree_cards(
    tasks: Iterable[Task], rules: TaxonRules, name: str, today: int, most: int, noted: Noted
) -> list[Card]:
    """The next `most` tasks of one tree, a card each; of work that comes again and again the first."""
    firsts: dict[tuple[str, str, int], Task] = {}
    for task in sorted(tasks, key=lambda task: (task.day, task.title)):
        firsts.setdefault((task.rule, task.kind, task.season), task)
    return [_card([t], rules, {t.tree: name}, today, noted) for t in list(firsts.values())[:most]]
