"""What an entry of the calendar says of a round, a walk or a watch; pages and paper may say the same."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import Loss, Rule
from care_planner.spans import monday_of
from care_planner.tasks.agenda import Agenda, Standing, Walk, WalkItem, Watch
from care_planner.tasks.model import Task, Window
from care_planner.tasks.rounds import Round, by_taxon
from care_planner.words.line import Line, line
from care_planner.words.moves import moved_words

SHORT_TITLE = 30
MOST_TREES_NAMED = 40
MISSED: Mapping[Loss, str] = {
    "tree": "Missed, it can cost the tree.",
    "flowers": "Missed, it costs a year of flowers.",
    "growth": "Missed, it costs a year of growth.",
    "form": "Missed, the tree loses form.",
    "looks": "Missed, it costs looks only.",
    "nothing": "Missed, nothing is lost.",
}


@dataclass(frozen=True, eq=False)
class Speaker:
    """What the words need to know: rules by taxon, the trees' given names, benches in walking order."""

    taxa: Mapping[str, TaxonRules]
    names: Mapping[str, str] = field(default_factory=dict)
    benches: Sequence[str] = ()
    counts: Mapping[str, int] = field(default_factory=dict)  # trees on each bench
    rough: str = ""  # why the dates are rough, where they are

    def rule(self, task: Task) -> Rule | None:
        """The rule behind a task; None where the packs no longer have it."""
        taxon = self.taxa.get(task.taxon)
        return taxon.rules.get(task.rule) if taxon is not None else None

    def tree(self, tree: str) -> str:
        """A tree by id, with its given name where it has one."""
        name = self.names.get(tree)
        return f"{tree} ({name})" if name and name != tree else tree

    def place(self, bench: str) -> int:
        """The place of a bench in walking order; unknown ones last."""
        return self.benches.index(bench) if bench in self.benches else len(self.benches)


# Titles


def round_title(work: Round, said: Speaker) -> str:
    """`sats-02: prune` or `Repot 4: sats-03, pine-02 ...`, in 30 characters where that can be."""
    title = f"Done: {work.title}" if work.done else work.title
    return _title(title, work.trees, said)


def watch_title(watch: Watch, ends: bool) -> str:
    """`From today: cover on nights of 2 degC`, and when it is over `Ends today: ...`."""
    head = "Ends today" if ends else "From today"
    return f"{head}: {_lower(_short(watch.title, SHORT_TITLE - len(head) - 2))}"


def standing_title(standing: Standing) -> str:
    """`From today: shorten no shoots`."""
    return f"From today: {_lower(_short(standing.tasks[0].title, SHORT_TITLE - len('From today: ')))}"


def question_title(title: str, trees: Sequence[str]) -> str:
    """`Done? Repot: sats-03`, or how many trees are asked for."""
    for short in dict.fromkeys((title, _short(title, 0))):
        for on in (f": {trees[0]}" if len(trees) == 1 else f": {len(trees)} trees", f" {len(trees)}"):
            asked = f"Done? {short}{on}"
            if len(asked) <= SHORT_TITLE:
                return asked
    return f"Done? {_short(title, 0)}"


def walk_title(walk: Walk) -> str:
    """`Bench walk: 9 things`."""
    count = len(walk.items)
    return f"Bench walk: {count} {'thing' if count == 1 else 'things'}"


def _title(work: str, trees: Sequence[str], said: Speaker) -> str:
    if len(trees) == 1:
        short = _short(work, SHORT_TITLE - len(trees[0]) - 2)
        name = said.names.get(trees[0], "")
        fits = bool(name) and len(name) + 2 + len(short) <= SHORT_TITLE
        return f"{name if fits else trees[0]}: {_lower(short)}"
    head = f"{_short(work, SHORT_TITLE - 12)} {len(trees)}"
    named = ""
    for place, tree in enumerate(trees):
        longer = f"{named}, {tree}" if named else tree
        rest = " ..." if place + 1 < len(trees) else ""
        if len(f"{head}: {longer}{rest}") > SHORT_TITLE:
            break
        named = longer
    if not named:
        return head
    return f"{head}: {named}" + ("" if len(named.split(", ")) == len(trees) else " ...")


def _short(work: str, room: int) -> str:
    """A title without what follows its first comma, where it is too long with it."""
    return work if len(work) <= room else work.split(", ")[0]


def _lower(text: str) -> str:
    """A title in the middle of a line; words in capitals stay."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _upper(text: str) -> str:
    """A text at the head of a sentence."""
    return text[:1].upper() + text[1:]


# Texts


def round_lines(work: Round, agenda: Agenda, said: Speaker) -> list[Line]:
    """What to do, until when, what missing it costs, cautions, what it waits for."""
    if work.done:
        return [line("Noted as done."), _trees(work.tasks, said)]
    lines = _what(work.tasks, said)
    if work.until is not None:
        lines.append(_goes_on(work, said))
    else:
        lines += _when(work.window)
    lines += [line(said.rough)] if said.rough else []
    lines += _moved(work.tasks)
    if not work.firm:
        lines.append(line("The day is not sure yet: look at the tree first, and note what you see."))
    lines += _missed(work, said)
    lines += [
        line(f"Caution: {text}.")
        for text in _each(text.rstrip(".") for task in work.tasks for text in task.cautions)
    ]
    lines += _waits(work, agenda, said)
    lines += _holds_now(work, agenda.standing, said)
    lines += [_minutes(work.minutes), _trees(work.tasks, said)]
    return lines + _sources(work.tasks, said)


def watch_lines(watch: Watch, said: Speaker, ends: bool) -> list[Line]:
    """From when on the weather of the day decides, or that this is over."""
    if ends:
        return [line(f"From today it is no longer needed: {_lower(watch.title)}."), _trees(watch.tasks, said)]
    lines = _what(watch.tasks, said)
    if watch.last is not None:
        lines.append(line("Until about ", watch.last, "; an entry will say when it ends."))
    lines.append(line(MISSED[watch.loss]))
    lines += [
        line(f"Caution: {text}.")
        for text in _each(text.rstrip(".") for task in watch.tasks for text in task.cautions)
    ]
    lines.append(_trees(watch.tasks, said))
    later: defaultdict[int, list[str]] = defaultdict(list)
    for task in watch.tasks:
        if task.day > watch.first:
            later[task.day].append(task.tree)
    lines += [line(f"{_few(trees)} from ", day, ".") for day, trees in sorted(later.items())]
    return lines + _sources(watch.tasks, said)


def standing_lines(standing: Standing, said: Speaker) -> list[Line]:
    """What holds for a time."""
    lines = _what(standing.tasks, said)
    if standing.last is not None:
        lines.append(line("Until about ", standing.last, "."))
    return [*lines, line(MISSED[standing.tasks[0].loss]), *_sources(standing.tasks, said)]


def walk_lines(walk: Walk, agenda: Agenda, said: Speaker) -> list[Line]:
    """By bench in walking order, then what to look for; what is done by torch comes last."""
    by_day = [item for item in walk.items if not _after_dark(item, said)]
    night = [item for item in walk.items if _after_dark(item, said)]
    lines = [line(text) for text in _bench_lines(by_day, said)]
    lines += [_going_on(work, said) for work in agenda.rounds if _under_way(work, walk)]
    lines += [_no_time(work) for work in agenda.left if monday_of(work.day) == walk.monday]
    lines += [line(text) for item in by_day for text in _look_for(item, said)]
    for item in night:
        lines += [line(f"After dark, by torch: {text}") for text in _bench_lines([item], said)]
        lines += [line(text) for text in _look_for(item, said)]
    return lines


def _under_way(work: Round, walk: Walk) -> bool:
    return work.until is not None and not work.done and work.day < walk.monday <= work.until


def _going_on(work: Round, said: Speaker) -> Line:
    assert work.until is not None
    return line(f"Goes on: {_lower(work.title)}, {', '.join(work.trees)}, until about ", work.until)


def _no_time(work: Round) -> Line:
    cost = MISSED[work.loss].removeprefix("Missed, ")
    return line(f"No time this week for: {_lower(work.title)}, {', '.join(work.trees)}; {cost}")


def _after_dark(item: WalkItem, said: Speaker) -> bool:
    rule = said.rule(item.first)
    return item.first.kind == "work" and rule is not None and rule.after_dark


def _bench_lines(items: Sequence[WalkItem], said: Speaker) -> Iterator[str]:
    benches: defaultdict[str, list[tuple[WalkItem, list[str]]]] = defaultdict(list)
    for item in items:
        trees: defaultdict[str, list[str]] = defaultdict(list)
        for task in item.tasks:
            trees[task.bench].append(task.tree)
        for bench, held in trees.items():
            benches[bench].append((item, held))
    for bench in sorted(benches, key=lambda bench: (said.place(bench), bench)):
        things = [_thing(item, trees, said.counts.get(bench)) for item, trees in benches[bench]]
        yield f"{bench}: {'; '.join(things)}"


def _thing(item: WalkItem, trees: Sequence[str], on_bench: int | None) -> str:
    """A thing to do, with the trees where it is not all of a bench."""
    title = _lower(item.title.removesuffix("?"))
    if len(trees) == on_bench:
        return title
    return f"{title} ({_few(trees)})"


def _look_for(item: WalkItem, said: Speaker) -> Iterator[str]:
    title = item.title.removesuffix("?")
    for what in _each(task.what for task in item.tasks):
        if item.first.kind == "look":
            yield f"{_upper(title.removeprefix('Look: '))}? {_upper(what)}"
        else:
            yield f"{title}: {_lower(what)}"


def _what(tasks: Sequence[Task], said: Speaker) -> list[Line]:
    """What to do, in the words of each taxon; one paragraph where they are the same."""
    paragraphs: defaultdict[str, list[Task]] = defaultdict(list)
    for task in tasks:
        paragraphs[task.what].append(task)
    if len(paragraphs) == 1:
        return [line(what) for what in paragraphs if what]
    if len({task.rule for task in tasks}) > 1:
        apart = len({_trees_of(same) for same in paragraphs.values()}) > 1
        whose = {
            what: f", {', '.join(_trees_of(same))}" if apart else "" for what, same in paragraphs.items()
        }
        return [line(f"{same[0].title}{whose[what]}: {what}") for what, same in paragraphs.items()]
    taxa = {task.taxon for task in tasks}
    lines = []
    for what, same in paragraphs.items():
        own = {task.taxon for task in same}
        whole = len(taxa) == len(paragraphs) and len(own) == 1
        name = (
            said.taxa[same[0].taxon].title
            if whole and same[0].taxon in said.taxa
            else ", ".join(_trees_of(same))
        )
        lines.append(line(f"{name}: {what}"))
    return lines


def _goes_on(work: Round, said: Speaker) -> Line:
    rule = said.rule(work.first)
    every = rule.repeat.every_days if rule is not None and rule.repeat is not None else 1
    assert work.until is not None
    if work.until <= work.day:
        return line("Once, on this day.")
    return line(
        f"Every {every} days, until about " if every > 1 else "Every day, until about ", work.until, "."
    )


def _when(window: Window) -> list[Line]:
    if window.opens is not None and window.closes is not None:
        if window.opens == window.closes:
            return [line("Best on ", window.opens, "; later is too late in most years.")]
        return [line("Best ", window.opens, " to ", window.closes, "; later is too late in most years.")]
    if window.opens is not None:
        return [line("From ", window.opens, " on.")]
    return [line("Best until ", window.closes, "; later is too late in most years.")] if window.closes else []


def _moved(tasks: Sequence[Task]) -> list[Line]:
    """From where and why it moved, where that is the same for all."""
    words = {moved_words(task.move) for task in tasks}
    return [line(f"{text[0].upper()}{text[1:]}.") for text in words if text and len(words) == 1]


def _missed(work: Round, said: Speaker) -> list[Line]:
    """What missing it costs, and what the packs say of that."""
    rules = [said.rule(same[0]) for same in by_taxon(work.tasks)]
    says = _each(rule.missed.rstrip(".") for rule in rules if rule is not None and rule.missed)
    return [line(" ".join([MISSED[work.loss], *(f"{text}." for text in says)]))]


def _waits(work: Round, agenda: Agenda, said: Speaker) -> list[Line]:
    """What must be there, what must not be, what comes first in this plan, and what it rests from."""
    needs, avoid, others = [], [], []
    several = len({task.taxon for task in work.tasks}) > 1
    for same in by_taxon(work.tasks):
        rule = said.rule(same[0])
        if rule is None:
            continue
        titles = said.taxa[same[0].taxon].rules
        whose = f"{said.taxa[same[0].taxon].title}: " if several else ""
        needs += [f"{whose}{text}" for text in rule.needs]
        avoid += [f"{whose}{text}" for text in rule.forbids]
        first = [_lower(titles[one.work].title) for one in rule.after if _comes(one.work, work, agenda)]
        others += [f"First: {'; '.join(first)}."] if first else []
        for rest in rule.rests:
            names = "; ".join(_lower(titles[id].title) for id in rest.after if id in titles)
            others += [f"Not in the {rest.days} days after: {names}."]
    texts = [f"Needs: {'; '.join(_each(needs))}."] if needs else []
    texts += [f"Avoid: {'; '.join(_each(avoid))}."] if avoid else []
    return [line(text) for text in _each([*texts, *others])]


def _comes(rule: str, work: Round, agenda: Agenda) -> bool:
    """Whether a work is still to be done on one of the trees before this one."""
    trees = frozenset(work.trees)
    before = (one for one in agenda.rounds if one.rule == rule and not one.done and one.day <= work.day)
    return any(not trees.isdisjoint(one.trees) for one in before)


def _holds_now(work: Round, standing: Iterable[Standing], said: Speaker) -> list[Line]:
    """What stands for these trees on that day and is of the same kind of work."""
    lines = []
    trees, day = frozenset(work.trees), work.day
    for rule in standing:
        if rule.tasks[0].category != work.first.category:
            continue
        held = [
            task.tree
            for task in rule.tasks
            if task.tree in trees and task.day <= day and (task.until is None or day <= task.until)
        ]
        if held:
            lines.append(line(f"Holds now for {', '.join(held)}: {_lower(rule.tasks[0].title)}."))
    return lines


def _minutes(minutes: int) -> Line:
    if minutes < 90:
        return line(f"About {minutes} min.")
    hours, rest = divmod(round(minutes / 30), 2)
    return line(f"About {hours}{'.5' if rest else ''} h.")


def _trees(tasks: Sequence[Task], said: Speaker) -> Line:
    benches: defaultdict[str, list[str]] = defaultdict(list)
    for task in tasks:
        if task.tree not in benches[task.bench]:
            benches[task.bench].append(task.tree)
    parts = []
    room = MOST_TREES_NAMED
    for bench in sorted(benches, key=lambda bench: (said.place(bench), bench)):
        held = benches[bench]
        named = held[: max(room, 0)]
        room -= len(named)
        more = f" and {len(held) - len(named)} more" if len(held) > len(named) else ""
        parts.append(
            f"{bench}: {', '.join(map(said.tree, named))}{more}" if named else f"{bench}: {len(held)}"
        )
    return line(f"Where: {'; '.join(parts)}.")


def _sources(tasks: Sequence[Task], said: Speaker) -> list[Line]:
    rules = [said.rule(same[0]) for same in by_taxon(tasks)]
    texts = _each(" ".join(rule.source.split()) for rule in rules if rule is not None)
    return [line(f"Source: {'; '.join(texts)}")] if texts else []


def _few(trees: Sequence[str]) -> str:
    """Names, or how many there are."""
    if len(trees) <= MOST_TREES_NAMED:
        return ", ".join(trees)
    return f"{', '.join(trees[:MOST_TREES_NAMED])} and {len(trees) - MOST_TREES_NAMED} more"


def _trees_of(tasks: Iterable[Task]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(task.tree for task in tasks))


def _each(texts: Iterable[str]) -> list[str]:
    """Every text once, in order, without empty ones."""
    return [text for text in dict.fromkeys(texts) if text]
