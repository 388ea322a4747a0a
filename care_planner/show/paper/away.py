"""What whoever waters must know while the owner is away: the facts, for paper and for a page alike. Pure."""

from collections import defaultdict
from collections.abc import Collection as Some
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.show.paper.blocks import Block, PaperSheet, head, listed, text
from care_planner.tasks.model import Task
from care_planner.words.conditions import what_words
from care_planner.words.days import day_words, short_day

Often = Literal["daily", "weekly", "look"]

# Six weeks, as the packs' own check of a repotted tree has it (common practice, no source).
ROOTS_HEAL_DAYS = 42
MOST_NAMED = 12
# Common practice, no source: every sentence below.
HOW_OFTEN: Mapping[Often, str] = {
    "daily": "every morning",
    "weekly": "once a week, in the morning",
    "look": "every third day, in the morning",
}
HOW_TO_TELL: Mapping[Often, str] = {
    "daily": "Lift the pot or put a finger in the soil. Light or dry on top: water until it runs out "
    "below. Heavy and dark: leave it.",
    "weekly": "Water only a pot that is light and not frozen, in mild weather.",
    "look": "Put a finger in the soil. Dry on top: water until it runs out below. Else leave it.",
}
TWICE = "Look again in the evening after a hot or windy day"
NEVER = (
    "Never feed.",
    "Never cut, wire, pick or repot.",
    "Never let a pot stand in water, and never spray open flowers.",
    "A tree that hangs its leaves while its soil is wet: no more water. Put it in the shade and ring.",
)
POISON = (
    "Azaleas are poisonous, every part of them: to children, dogs, cats and livestock. If any was eaten, "
    "ring the poison line or a vet at once and say what it was."
)
RING = ("The owner", "Somebody near by who can help", "Poison information line", "Vet")


@dataclass(frozen=True, slots=True)
class BenchWater:
    """How one bench is watered."""

    bench: str
    trees: tuple[str, ...]
    often: Often


@dataclass(frozen=True, slots=True)
class AwayOrder:
    """Something that the weather of the day decides, in force in these weeks."""

    title: str
    what: str
    trees: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AwayFacts:
    """The sheet's facts; days are ordinals, both included."""

    first: int
    last: int
    benches: tuple[BenchWater, ...]
    in_bloom: tuple[str, ...]
    healing: tuple[tuple[str, int], ...]  # trees whose roots were worked, and when
    orders: tuple[AwayOrder, ...]
    poisonous: bool


def away_facts(
    plan: Plan,
    collection: Collection,
    rulebook: Rulebook,
    entries: Iterable[Entry],
    first: int,
    last: int,
    trees: Some[str] | None = None,
) -> AwayFacts:
    """The facts for the days from `first` to `last` (ordinals), of all trees or of some."""
    shown = {tree.id: tree for tree in collection.trees if trees is None or tree.id in trees}
    tasks = [task for task in plan.tasks if task.tree in shown]
    in_force = [task for task in tasks if _is_in_force(task, first, last)]
    benches: defaultdict[str, set[str]] = defaultdict(set)
    for tree in shown.values():
        benches[_bench_of(tree.id, tree.bench, tasks, first)].add(tree.id)
    orders: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
    for task in in_force:
        if task.way == "watch" and task.category in ("shelter", "light"):
            orders[task.title, what_words(task)].add(task.tree)
    return AwayFacts(
        first,
        last,
        tuple(
            BenchWater(bench, tuple(sorted(on)), _often(in_force, on))
            for bench, on in sorted(benches.items())
        ),
        tuple(sorted(_in_bloom(plan, rulebook, {t.id: t.taxon for t in shown.values()}, first, last))),
        tuple(
            sorted(
                _healing(
                    tasks, entries, rulebook, {t.id: t.taxon for t in shown.values()}, first, last
                ).items()
            )
        ),
        tuple(AwayOrder(title, what, tuple(sorted(of))) for (title, what), of in sorted(orders.items())),
        any(rulebook.taxa[tree.taxon].taxon.botanical.startswith("Rhododendron") for tree in shown.values()),
    )


def _is_in_force(task: Task, first: int, last: int) -> bool:
    """Whether what a watch or a walk asks for holds on any of the days."""
    if task.kind != "work" or task.way not in ("watch", "walk"):
        return False
    opens = task.day if task.window.opens is None else min(task.day, task.window.opens)
    closes = task.window.closes if task.until is None else task.until
    return opens <= last and max(task.day, closes or task.day) >= first


def _often(in_force: Iterable[Task], on: Some[str]) -> Often:
    ways = {task.way for task in in_force if task.tree in on and task.category == "water"}
    return "daily" if "watch" in ways else "weekly" if "walk" in ways else "look"


def _bench_of(tree: str, home: str, tasks: Iterable[Task], day: int) -> str:
    """Where it stands then: on the bench of its first task from that day on, or at home."""
    coming = [task for task in tasks if task.tree == tree and task.day >= day and task.kind == "work"]
    return min(coming, key=lambda task: (task.day, task.key)).bench if coming else home


def _in_bloom(plan: Plan, rulebook: Rulebook, taxa: Mapping[str, str], first: int, last: int) -> set[str]:
    opens: dict[tuple[str, int], int] = {}
    over: defaultdict[tuple[str, int], int] = defaultdict(int)
    for row in plan.stages:
        if row.tree not in taxa or row.p10 is None:
            continue
        rules = rulebook.taxa[taxa[row.tree]]
        curve, stage = rules.taxon.bloom_curve, rules.stages.get(row.stage)
        if curve is None or stage is None or not stage.flowering:
            continue
        key = (row.tree, row.season)
        if row.stage == curve.since:
            opens[key] = row.p10
        over[key] = max(over[key], row.p90 if row.p90 is not None else row.p10)
    return {tree for (tree, season), day in opens.items() if day <= last and over[tree, season] >= first}


def _healing(
    tasks: Iterable[Task],
    entries: Iterable[Entry],
    rulebook: Rulebook,
    taxa: Mapping[str, str],
    first: int,
    last: int,
) -> dict[str, int]:
    """Trees whose roots were worked, or will be, so short before that they must be handled with care."""
    days: dict[str, int] = {}
    for entry in entries:
        if entry.did and entry.tree in taxa and first - ROOTS_HEAL_DAYS <= entry.day <= last:
            rules = rulebook.taxa[taxa[entry.tree]]
            if any(rules.rules[id].kind == "roots" for id in rules.rules_noted_as(entry.did)):
                days[entry.tree] = max(entry.day, days.get(entry.tree, 0))
    for task in tasks:
        if task.kind == "work" and task.category == "roots" and first - ROOTS_HEAL_DAYS <= task.day <= last:
            days[task.tree] = max(task.day, days.get(task.tree, 0))
    return days


def away_sheet(facts: AwayFacts, site: str) -> PaperSheet:
    """One page in plain words."""
    often = sorted({bench.often for bench in facts.benches})
    rows = [("Bench", "Trees", "Look and water")]
    rows += [(b.bench, f"{len(b.trees)}: {', '.join(b.trees)}", HOW_OFTEN[b.often]) for b in facts.benches]
    blocks = [
        head("Water, bench by bench"),
        Block("table", rows=tuple(rows)),
        *(text(f"{HOW_OFTEN[one].capitalize()}: {HOW_TO_TELL[one]}") for one in often),
        text(twice_words(facts)),
        head("Never"),
        listed([*NEVER, *never_words(facts)], strong=True),
        head("When the weather turns"),
        listed([order_words(order) for order in facts.orders] or [NO_ORDERS]),
        *([head("Poison"), text(POISON, strong=True)] if facts.poisonous else []),
        head("Ring"),
        Block("lines", rows=tuple((one,) for one in RING)),
    ]
    title = f"While we are away: {short_day(facts.first)} to {day_words(facts.last)}"
    return PaperSheet(f"away-{_iso(facts.first)}", title, site, tuple(blocks))


NO_ORDERS = "No order for frost or heat is in force in these weeks. Strange weather all the same? Ring."


def twice_words(facts: AwayFacts) -> str:
    """When to water twice a day."""
    bloom = (
        f", and always at these, which are in flower: {', '.join(facts.in_bloom)}" if facts.in_bloom else ""
    )
    return f"Twice: {TWICE}{bloom}."


def never_words(facts: AwayFacts) -> list[str]:
    """What never to do to trees whose roots are healing, by name."""
    if not facts.healing:
        return []
    which = ", ".join(f"{tree} ({short_day(day)})" for tree, day in facts.healing)
    return [f"Never soak, lift or pull these, whose roots were worked a short time before: {which}."]


def order_words(order: AwayOrder) -> str:
    """One order, with every tree it is for: a stranger knows none of them."""
    return f"{order.title}. {order.what} For: {', '.join(order.trees)}."


def named(names: Sequence[str]) -> str:
    """Names in a row; of very many the first."""
    if len(names) <= MOST_NAMED:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()
