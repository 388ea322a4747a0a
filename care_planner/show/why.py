"""The chain behind one work of one tree: task <- window <- rule <- stage <- weather and journal."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace

from care_planner.folder.read_folder import Inputs
from care_planner.journal.model import Entry
from care_planner.plan import Plan, make_plan, signs_of_young_plants
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.rule import Rule
from care_planner.show.wrapping import wrapped
from care_planner.tasks.chain import reasons
from care_planner.tasks.fate import Fate
from care_planner.tasks.model import Task
from care_planner.words.chains import link_words
from care_planner.words.days import day_words, weekday_words
from care_planner.words.fates import fate_words, why_not
from care_planner.words.why_now import sentences
from care_planner.years.basis import Basis
from care_planner.years.common import WeatherBehind, weather_behind
from care_planner.years.outcome import Outcome
from care_planner.years.place import chance
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan
from care_planner.years.profiles import noted_trees, resolve_profile, twins
from care_planner.years.state import TreeYears

# What stands before the reason that a work does not come, where the reason alone does not say it.
_STATES = {"lost": "", "asked": "a fact is missing: ", "rare": ""}


def works_lines(inputs: Inputs, tree: str, today: int, previous: PreviousPlan = NO_PREVIOUS) -> Iterator[str]:
    """The works of one tree, the next day of each, with the id to ask `why` for."""
    trees = [one.id for one in inputs.collection.trees]
    if tree not in trees:
        raise ProblemsFound([Problem("TREE", 0, f"unknown tree '{tree}'", did_you_mean(tree, trees))])
    plan = make_plan(inputs.collection, inputs.entries, inputs.record, inputs.rulebook, today, previous)
    yield f"{tree}: its works, each with the next day; ask why for one of them"
    seen = set()
    for task in plan.tasks:
        if task.tree == tree and task.kind == "work" and task.rule not in seen:
            seen.add(task.rule)
            yield from wrapped(f"{day_words(task.day)}  {task.title} ({task.rule})", "  ", "    ")


def _named(words: str, rules: Mapping[str, Rule]) -> str:
    """The id of a rule by its id, its title or the words that note it."""
    if words in rules:
        return words
    said = words.casefold()
    for id, rule in rules.items():
        if said in (rule.title.casefold(), rule.title.split(", ")[0].casefold(), *rule.noted_as):
            return id
    raise ProblemsFound([Problem("TASK", 0, f"unknown work '{words}'", did_you_mean(words, rules))])


def why_lines(
    inputs: Inputs, tree: str, rule: str, today: int, previous: PreviousPlan = NO_PREVIOUS
) -> Iterator[str]:
    """Every season of the plan in which the work could come; `previous` is the plan that was published, whose
    days stand. Raises ProblemsFound for unknown names."""
    trees = {one.id: one for one in inputs.collection.trees}
    if tree not in trees:
        raise ProblemsFound([Problem("TREE", 0, f"unknown tree '{tree}'", did_you_mean(tree, trees))])
    rules = inputs.rulebook.taxa[trees[tree].taxon].rules
    rule = _named(rule, rules)
    young = signs_of_young_plants(inputs.collection, inputs.entries, inputs.rulebook, today)
    inputs = replace(inputs, entries=[*inputs.entries, *young])
    plan = make_plan(
        inputs.collection,
        inputs.entries,
        inputs.record,
        inputs.rulebook,
        today,
        previous,
        outlook=inputs.outlook,
    )
    years, weather = _years(inputs, tree, today, previous, plan)
    origin = years.rules.origins[rule]
    yield f"{tree}: {rules[rule].title} ({rule})"
    yield from wrapped(f"from the pack {origin.pack}, {origin.changed_by or origin.file}", "  ", "  ")
    for step in (-1, 0, 1):
        tasks = [task for task in plan.tasks if (task.tree, task.rule) == (tree, rule)]
        season = plan.season + step
        outcome = years.outcomes[rule, step]
        shown = [task for task in tasks if task.season == season]
        if step >= 0 or shown:
            yield ""
            yield f"Season {season}"
            yield from _outcome(outcome, shown, years, weather)
    yield ""
    yield from _journal(inputs, tree, today)


def _years(
    inputs: Inputs, tree: str, today: int, previous: PreviousPlan, plan: Plan
) -> tuple[TreeYears, WeatherBehind]:
    """The tree as the plan resolved it: on a board with the days of the trees before it."""
    basis = Basis(inputs.collection, inputs.record, inputs.rulebook, today, inputs.outlook)
    shared = basis.shared
    noted = noted_trees(inputs.collection, inputs.entries, shared)
    given: defaultdict[str, list[Task]] = defaultdict(list)
    for task in plan.tasks:
        if task.kind == "work":
            given[task.tree].append(task)
    for profile, names in twins(noted, today, previous, basis.learn(noted)):
        if tree in names:
            return resolve_profile(profile, inputs.rulebook, shared), weather_behind(
                inputs.record, basis.weather_years, inputs.outlook
            )
        for name in names:
            for task in given[name]:
                shared.board.add(task.rule, task.season, task.day)
    what = f"'{tree}' has left the collection"
    raise ProblemsFound([Problem("TREE", 0, what, "allowed: a tree that is still here")])


def _outcome(outcome: Outcome, tasks: list[Task], years: TreeYears, weather: WeatherBehind) -> Iterator[str]:
    for task in tasks:
        head = f"{weekday_words(task.day)} {day_words(task.day)[-4:]}: {task.title}"
        yield from wrapped(head if task.firm else f"{head} (look first)", "  ", "    ")
    if not tasks:
        yield from wrapped(f"does not come: {_no(outcome, years)}", "  ", "    ")
    yield from wrapped(f"Do: {' '.join(outcome.rule.what.split())}", "  ", "    ")
    works = [task for task in tasks if task.kind == "work"]
    if works:
        for sentence in sentences(works[0]):
            yield from wrapped(sentence, "  ", "    ")
    yield "  The reasons, one by one"
    links = works[0].reasons if works else reasons(outcome, years, weather)
    yield from _numbers(outcome, works)
    for reason in links:
        yield from wrapped(link_words(reason), "  <- ", "     ")


def _numbers(outcome: Outcome, works: list[Task]) -> Iterator[str]:
    """The middle dates of the window, in how many weather years it comes, and how sure the days are."""
    window = outcome.window
    if window is not None:
        opens, closes = window.median("opens"), window.median("closes")
        words = f"Its middle days: {day_words(opens)} to {day_words(closes)}; "
        yield from wrapped(
            words + f"the time comes in {_of(window.exists)} the weather years", "  <- ", "     "
        )
    for task in works:
        words = f"{weekday_words(task.day)}: right in {task.chance:.0%} of the weather years"
        yield from wrapped(words, "  <- ", "     ")


def _of(share: float) -> str:
    return "all of" if share > 0.995 else f"{share:.0%} of"


def _no(outcome: Outcome, years: TreeYears) -> str:
    if outcome.state == "planned":
        days = [day for _, day in outcome.days]
        at = chance(outcome, days[0]) if days else 0.0
        return f"planned for {day_words(days[0])} (chance {at:.0%}), outside this plan" if days else "later"
    if not outcome.reason:
        return outcome.state
    return (
        f"{_STATES[outcome.state]}{why_not(outcome.reason)}"
        if outcome.state in _STATES
        else fate_words(Fate(outcome.state, outcome.reason))
    )


def _journal(inputs: Inputs, tree: str, today: int) -> Iterator[str]:
    own = [entry for entry in inputs.entries if entry.tree == tree and entry.day <= today]
    if not own:
        yield "Journal: no notes on this tree yet"
        return
    yield "Journal"
    for entry in own:
        said = f"{day_words(entry.day)}: {_said(entry)} ({entry.file}:{entry.line})"
        yield from wrapped(said, "  ", "    ")


def _said(entry: Entry) -> str:
    """What a note says, in words."""
    saw = entry.saw
    if saw is not None and saw.share_open is not None:
        return f"saw {saw.share_open:.0%} open"
    if saw is not None:
        seen = saw.stage or (f"BBCH {saw.bbch}" if saw.bbch is not None else "")
        return f"not yet {seen}".strip() if saw.not_yet else f"saw {seen}"
    named = (
        ("did", f"{entry.did} on {entry.plants}" if entry.plants else entry.did),
        ("skipped", entry.skipped),
        ("put off", f"{entry.put_off} until {day_words(entry.until)}" if entry.put_off else ""),
        ("moved to", entry.moved_to),
    )
    told = [f"{words} {value}" for words, value in named if value]
    return "; ".join(
        [*told, *([entry.condition] if entry.condition else []), *([entry.note] if entry.note else [])]
    )
