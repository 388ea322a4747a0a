"""What an entry of the calendar says of a round, a watch or what stands; pages and paper may say the same."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from care_planner.rulebook.rule import Loss
from care_planner.tasks.agenda import Agenda, Standing, Watch
from care_planner.tasks.links import DayChosen
from care_planner.tasks.model import Task, Window
from care_planner.tasks.rounds import Round, by_taxon
from care_planner.words.conditions import conditions
from care_planner.words.line import Line, line
from care_planner.words.moves import moved_words
from care_planner.words.speaker import Speaker
from care_planner.words.titles import lower
from care_planner.years.reasons import AfterWhatComesFirst, AwayThroughout

MOST_TREES_NAMED = 40
MISSED: Mapping[Loss, str] = {
    "tree": "Missed, it can cost the tree.",
    "flowers": "Missed, it costs a year of flowers.",
    "growth": "Missed, it costs a year of growth.",
    "form": "Missed, the tree loses form.",
    "looks": "Missed, it costs looks only.",
    "nothing": "Missed, nothing is lost.",
}
# Why a work lies outside its best days.
BESIDE: Mapping[type, str] = {
    AwayThroughout: "Nobody is free in its best days; this is the nearest day.",
    AfterWhatComesFirst: "It comes after its best days, since something else has to come first.",
}


def round_lines(work: Round, agenda: Agenda, said: Speaker) -> list[Line]:
    """What to do, until when, what missing it costs, cautions, what it waits for."""
    if work.done:
        return [line("Noted as done."), _trees(work.tasks, said)]
    lines = _what(work.tasks, said)
    if work.until is not None:
        lines.append(_goes_on(work, said))
    else:
        lines += _when(work.window, work.loss in ("looks", "nothing"))
        lines += _beside(work)
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
        return [line(f"From today it is no longer needed: {lower(watch.title)}."), _trees(watch.tasks, said)]
    lines = _what(watch.tasks, said)
    lines += [line("As since about ", watch.began, ".")] if watch.began is not None else []
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
    lines += [line(f"{few(trees, MOST_TREES_NAMED)} from ", day, ".") for day, trees in sorted(later.items())]
    return lines + _sources(watch.tasks, said)


def standing_lines(standing: Standing, said: Speaker) -> list[Line]:
    """What holds for a time."""
    lines = _what(standing.tasks, said)
    if standing.last is not None:
        lines.append(line("Until about ", standing.last, "."))
    return [*lines, line(MISSED[standing.tasks[0].loss]), *_sources(standing.tasks, said)]


def _what(tasks: Sequence[Task], said: Speaker) -> list[Line]:
    """What to do, and under which condition."""
    return [*_to_do(tasks, said), *map(line, conditions(tasks))]


def _to_do(tasks: Sequence[Task], said: Speaker) -> list[Line]:
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
        return line("Only one round falls into its time.")
    return line(
        f"Every {every} days, until about " if every > 1 else "Every day, until about ", work.until, "."
    )


def _when(window: Window, is_cheap: bool) -> list[Line]:
    """Its best days; that later is too late is not told of what costs little."""
    late = "." if is_cheap else "; later is too late in most years."
    if window.opens is not None and window.closes is not None:
        if window.opens == window.closes:
            return [line("Best on ", window.opens, late)]
        return [line("Best ", window.opens, " to ", window.closes, late)]
    if window.opens is not None:
        return [line("From ", window.opens, " on.")]
    return [line("Best until ", window.closes, late)] if window.closes else []


def _beside(work: Round) -> list[Line]:
    """Why it lies after its best days."""
    closes = work.window.closes
    if closes is None or work.day <= closes:
        return []
    chosen = (link for link in work.first.reasons if isinstance(link, DayChosen))
    return [line(BESIDE[type(link.aim)]) for link in chosen if type(link.aim) in BESIDE]


def _moved(tasks: Sequence[Task]) -> list[Line]:
    """From where and why it moved, where that is the same for all."""
    words = {moved_words(task.move) for task in tasks}
    return [line(f"{text[0].upper()}{text[1:]}.") for text in words if text and len(words) == 1]


def _missed(work: Round, said: Speaker) -> list[Line]:
    """What missing it costs, and what the packs say of that."""
    told = [
        (same[0].taxon, rule.missed.rstrip("."))
        for same in by_taxon(work.tasks)
        if (rule := said.rule(same[0])) is not None and rule.missed
    ]
    return [line(" ".join([MISSED[work.loss], *(f"{text}." for text in _by_taxon(told, work, said))]))]


def _by_taxon(told: Iterable[tuple[str, str]], work: Round, said: Speaker) -> list[str]:
    """Texts of (taxon, text), each once; those that not all taxa of the work have after whose they are."""
    every = {task.taxon for task in work.tasks}
    taxa: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for taxon, text in told:
        taxa[text][taxon] = None
    own: defaultdict[str, list[str]] = defaultdict(list)
    for text, whose in taxa.items():
        if every != set(whose):
            own[", ".join(said.taxa[taxon].title for taxon in whose)].append(lower(text))
    shared = [text for text, whose in taxa.items() if every == set(whose)]
    return [*shared, *(f"{whose}: {'; '.join(texts)}" for whose, texts in own.items())]


def _waits(work: Round, agenda: Agenda, said: Speaker) -> list[Line]:
    """What must be there, what must not be, what comes first in this plan, and what it rests from."""
    needs: list[tuple[str, str]] = []
    avoid: list[tuple[str, str]] = []
    others: list[str] = []
    for same in by_taxon(work.tasks):
        rule = said.rule(same[0])
        if rule is None:
            continue
        titles = said.taxa[same[0].taxon].rules
        needs += [(same[0].taxon, text) for text in rule.needs]
        avoid += [(same[0].taxon, text) for text in rule.forbids]
        first = [lower(titles[one.work].title) for one in rule.after if _comes(one.work, work, agenda)]
        others += [f"First: {'; '.join(first)}."] if first else []
        for rest in rule.rests:
            names = "; ".join(lower(titles[id].title) for id in rest.after if id in titles)
            others += [f"Not in the {rest.days} days after: {names}."]
    texts = [f"Needs: {'; '.join(_by_taxon(needs, work, said))}."] if needs else []
    texts += [f"Avoid: {'; '.join(_by_taxon(avoid, work, said))}."] if avoid else []
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
            lines.append(line(f"Holds now for {', '.join(held)}: {lower(rule.tasks[0].title)}."))
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


def few(trees: Sequence[str], most: int) -> str:
    """So many names at most, and how many more there are."""
    if len(trees) <= most:
        return ", ".join(trees)
    return f"{', '.join(trees[:most])} and {len(trees) - most} more"


def _trees_of(tasks: Iterable[Task]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(task.tree for task in tasks))


def _each(texts: Iterable[str]) -> list[str]:
    """Every text once, in order, without empty ones."""
    return [text for text in dict.fromkeys(texts) if text]
