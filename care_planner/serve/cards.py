"""A card of a page: the same work on the same day, or the same look, with its trees and its reasons."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from zlib import crc32

from care_planner.calendar.text import clean_lines, one_line, percent, window_line
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.show.paper.week import hours
from care_planner.tasks.model import Task, Window
from care_planner.tasks.rounds import urgency
from care_planner.words.chains import why_lines_of
from care_planner.words.conditions import what_words
from care_planner.words.days import short_day, weekday_words
from care_planner.words.moves import moved_words

REASONS_SHOWN = 12
TREES_NAMED = 4

Noted = frozenset[tuple[str, str]]
"""Trees with the work, the stage or the day without work (its ordinal) that was noted of them since the plan
was made."""


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


def dearest_first(tasks: Sequence[Task]) -> tuple[object, ...]:
    """Dearest first, then what closes sooner."""
    return (*urgency(tasks), tasks[0].title)


def cards_of(
    tasks: Iterable[Task], rulebook: Rulebook, names: Mapping[str, str], today: int, noted: Noted
) -> list[Card]:
    """The same work on one day is one card, whatever its benches; the same look one, whatever its days."""
    rounds: defaultdict[tuple[object, ...], dict[str, Task]] = defaultdict(dict)
    for task in sorted(tasks, key=lambda task: (task.day, task.tree, task.key)):
        place = (task.stage,) if task.kind == "look" else (task.day, task.rule)
        rounds[task.kind, task.title, *place].setdefault(task.tree, task)
    ordered = sorted((list(held.values()) for held in rounds.values()), key=dearest_first)
    return [_card(held, rulebook.taxa[held[0].taxon], names, today, noted) for held in ordered]


def _card(
    tasks: Sequence[Task], rules: TaxonRules, names: Mapping[str, str], today: int, noted: Noted
) -> Card:
    first = tasks[0]
    stage, rule, curve = stage_to_settle(first, rules), rules.rules.get(first.rule), rules.taxon.bloom_curve
    word, day = (stage, "") if first.kind == "look" else (first.rule, str(first.day))
    chances = sorted({percent(task.chance) for task in tasks})
    closes = [task.window.closes for task in tasks if task.window.closes is not None]
    same_move = len({task.move for task in tasks}) == 1
    benches = sorted({task.bench for task in tasks})
    return Card(
        id=card_id(first),
        rule=first.rule,
        title=one_line(first.title),
        trees=tuple(
            TreeBox(tree, names.get(tree, ""), not noted.isdisjoint(((tree, word), (tree, day))))
            for tree in sorted({t.tree for t in tasks})
        ),
        benches=", ".join(benches),
        when=when_words(first.day, today),
        until=f"until {short_day(min(closes))}" if len(closes) == len(tasks) else "",
        minutes=hours(sum(task.minutes for task in tasks)),
        is_look=first.kind == "look",
        firm=all(task.firm for task in tasks),
        what=one_line(what_words(first)),
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


def tree_cards(
    tasks: Iterable[Task], rules: TaxonRules, name: str, today: int, most: int, noted: Noted
) -> list[Card]:
    """The next `most` tasks of one tree, a card each; of work that comes again and again the first."""
    firsts: dict[tuple[str, str, int], Task] = {}
    for task in sorted(tasks, key=lambda task: (task.day, task.title)):
        firsts.setdefault((task.rule, task.kind, task.season), task)
    return [_card([t], rules, {t.tree: name}, today, noted) for t in list(firsts.values())[:most]]
