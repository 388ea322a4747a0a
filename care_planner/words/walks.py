"""What the entry of a week's bench walk says: by bench in walking order, then how to."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from care_planner.spans import monday_of
from care_planner.tasks.agenda import Agenda, Walk, WalkItem
from care_planner.tasks.model import Task
from care_planner.tasks.rounds import Round
from care_planner.words.entries import MISSED, few
from care_planner.words.line import Line, line
from care_planner.words.speaker import Speaker
from care_planner.words.titles import lower, upper

MOST_TREES_NAMED = 8
# How to do so many things, the dearest first, is told whole, of so many more in a sentence; so that a walk is
# read on a phone (starting values).
TOLD_WHOLE = 5
TOLD_SHORT = 5


def walk_lines(walk: Walk, agenda: Agenda, said: Speaker) -> list[Line]:
    """Things by bench, the dearest first; what goes on, what finds no time; how to; by torch comes last."""
    by_day = [item for item in walk.items if not _after_dark(item, said)]
    night = [item for item in walk.items if _after_dark(item, said)]
    lines = [line(text) for text in _bench_lines(by_day, said)]
    lines += [_going_on(work) for work in agenda.rounds if _under_way(work, walk)]
    lines += [_no_time(work) for work in agenda.left if monday_of(work.day) == walk.monday]
    lines += [line(text) for text in _how_to(by_day, said)]
    for item in night:
        lines.append(line(f"After dark: {lower(item.title)}: {', '.join(_where(item, said))}."))
        lines += [line(text) for text in _how_to([item], said)]
    return lines


def _under_way(work: Round, walk: Walk) -> bool:
    return work.until is not None and not work.done and work.day < walk.monday and walk.day <= work.until


def _going_on(work: Round) -> Line:
    assert work.until is not None
    return line(
        f"Goes on: {lower(work.title)}, {few(work.trees, MOST_TREES_NAMED)}, until about ", work.until
    )


def _no_time(work: Round) -> Line:
    cost = MISSED[work.loss].removeprefix("Missed, ")
    return line(f"No time this week for: {lower(work.title)}, {few(work.trees, MOST_TREES_NAMED)}; {cost}")


def _after_dark(item: WalkItem, said: Speaker) -> bool:
    rule = said.rule(item.first)
    return item.first.kind == "work" and rule is not None and rule.after_dark


def _bench_lines(items: Sequence[WalkItem], said: Speaker) -> Iterator[str]:
    things: defaultdict[str, list[str]] = defaultdict(list)
    for item in items:
        title = lower(item.title.removesuffix("?"))
        for bench, trees in _by_bench(item, said):
            some = "" if len(trees) == said.counts.get(bench) else f" ({few(trees, MOST_TREES_NAMED)})"
            things[bench].append(f"{title}{some}")
    for bench in sorted(things, key=lambda bench: (said.place(bench), bench)):
        yield f"{bench}: {'; '.join(things[bench])}"


def _where(item: WalkItem, said: Speaker) -> Iterator[str]:
    """Benches, with the trees where it is not all of one."""
    for bench, trees in _by_bench(item, said):
        some = "" if len(trees) == said.counts.get(bench) else f" ({few(trees, MOST_TREES_NAMED)})"
        yield f"{bench}{some}"


def _by_bench(item: WalkItem, said: Speaker) -> list[tuple[str, list[str]]]:
    trees: defaultdict[str, list[str]] = defaultdict(list)
    for task in item.tasks:
        trees[task.bench].append(task.tree)
    return sorted(trees.items(), key=lambda held: (said.place(held[0]), held[0]))


def _how_to(items: Sequence[WalkItem], said: Speaker) -> Iterator[str]:
    """The dearest in full, then the first sentence; the rest stands under its bench."""
    for place, item in enumerate(items[: TOLD_WHOLE + TOLD_SHORT]):
        for how in _hows(item, said):
            yield how if place < TOLD_WHOLE else f"{how.split('. ')[0].rstrip('.')}."


def _hows(item: WalkItem, said: Speaker) -> Iterator[str]:
    """What to do, in the words of each taxon where they differ."""
    title = item.title.removesuffix("?")
    whats: defaultdict[str, list[Task]] = defaultdict(list)
    for task in item.tasks:
        whats[task.what].append(task)
    for what, tasks in whats.items():
        taxa = list(dict.fromkeys(task.taxon for task in tasks))
        names = ", ".join(said.taxa[one].title for one in taxa if one in said.taxa)
        whose = f", {names}" if len(whats) > 1 and names else ""
        if item.first.kind == "look":
            yield f"{upper(title.removeprefix('Look: '))}{whose}? {upper(what)}"
        elif what:
            yield f"{title}{whose}: {lower(what)}"
