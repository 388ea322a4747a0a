"""The flow on one page: collection + journal + climate + rulebook -> stages -> windows -> tasks.

Pure: no clock, no disk, no network; the order of trees, rules and entries changes nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import WeatherYears, lay_weather_years
from care_planner.collection.model import Collection
from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.spans import HALF_YEAR_DAYS, is_south, season_of, season_start
from care_planner.stages.history import History
from care_planner.stages.members import FEW_YEARS, TOO_FEW_YEARS, member_rows
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.weather import BenchWeather, Weather
from care_planner.tasks.drafts import Draft, done_drafts, drafts, not_planned, stage_rows
from care_planner.tasks.history import history_of
from care_planner.tasks.model import Task
from care_planner.tasks.outcome import Outcome
from care_planner.tasks.previous import NO_PREVIOUS, PreviousPlan, PreviousTree
from care_planner.tasks.reasons import choice_words
from care_planner.tasks.resolve import Shared, TreeYears
from care_planner.tasks.tree import TreeFacts
from care_planner.tasks.workdays import Board, workdays
from care_planner.windows.words import day_words

Profile = tuple[TreeFacts, tuple[Entry, ...], PreviousTree]


@dataclass(frozen=True, eq=False)
class Plan:
    """Dated tasks of every tree, the stages they rest on, and what is not known. Days are ordinals."""

    today: int
    season: int
    until: int  # the last day planned for
    tasks: Sequence[Task]
    stages: Sequence[Mapping[str, Any]]
    problems: Sequence[str]
    done: Sequence[Task]  # noted as done not long ago: still shown, marked so
    fates: Mapping[str, Mapping[tuple[str, int], str]]  # by tree: why a (rule, season) is not planned


def make_plan(
    collection: Collection,
    entries: Iterable[Entry],
    record: WeatherRecord,
    rulebook: Rulebook,
    today: int,
    previous: PreviousPlan = NO_PREVIOUS,
) -> Plan:
    """Plan every tree from `today` to the end of the season after the current one.

    Every taxon of the collection must be in the rulebook. Entries dated after `today` are left out.
    Days of the `previous` plan stand unless there is a reason against them.
    """
    shared, years = share(collection, record, today)
    weather = weather_words(record, years)
    tasks: list[Task] = []
    rows: list[dict[str, Any]] = []
    asked: defaultdict[str, set[str]] = defaultdict(set)
    done: list[Task] = []
    fates: dict[str, Mapping[tuple[str, int], str]] = {}
    for profile, trees in twins(collection, entries, shared, previous):
        resolved = resolve(profile, rulebook, shared)
        found = drafts(resolved, weather)
        finished = done_drafts(resolved)
        why_not = not_planned(resolved)
        _put_on_board(found, shared.board, len(trees))
        own_rows = stage_rows(resolved)
        said = list(_unknowns(resolved, found))
        for tree in trees:
            tasks += [draft.task(tree, profile[0].taxon) for draft in found]
            rows += [{"tree": tree, **row} for row in own_rows]
            done += [draft.task(tree, profile[0].taxon) for draft in finished]
            fates[tree] = why_not
            for words in said:
                asked[words].add(tree)
    problems = [f"{_names(trees)}: {words}" for words, trees in asked.items()]
    problems += _weather_problems(record, years)
    tasks.sort(key=lambda task: (task.day, task.tree, task.rule, task.season, task.key))
    season, until = shared.frame.season, shared.until
    return Plan(today, season, until, tasks, rows, sorted(problems), done, fates)


def share(collection: Collection, record: WeatherRecord, today: int) -> tuple[Shared, WeatherYears]:
    """What all trees share: the span of days, the weather of the benches, the people's days."""
    latitude = collection.site.latitude
    south = is_south(latitude)
    season = season_of(today, south)
    first_day = season_start(season - 1, south) - HALF_YEAR_DAYS - 2
    end_day = season_start(season + 3, south)
    years = lay_weather_years(record, south, first_day, end_day, today)
    rows = len(years.labels)
    frame = Frame(
        south,
        latitude,
        season,
        first_day,
        end_day - first_day,
        member_rows(rows),
        day_lengths(latitude, first_day, end_day - first_day),
    )
    benches: dict[str, Weather] = {
        name: BenchWeather(years, bench) for name, bench in sorted(collection.benches.items())
    }
    people = collection.people
    days = workdays(first_day, frame.days, people.is_away, people.is_favourite)
    risks = {name: float(getattr(collection.risk, name)) for name in type(collection.risk).model_fields}
    until = season_start(season + 2, south) - 1
    return Shared(frame, rows, benches, {}, days, Board(), risks, today, until), years


def twins(
    collection: Collection, entries: Iterable[Entry], shared: Shared, previous: PreviousPlan = NO_PREVIOUS
) -> list[tuple[Profile, list[str]]]:
    """Trees that differ in nothing but their names, planned as one; in the order of their first names."""
    notes: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.day <= shared.today:
            notes[entry.tree].append(entry)
    profiles: dict[Any, tuple[Profile, list[str]]] = {}
    for tree in sorted(collection.trees, key=lambda tree: tree.id):
        if tree.until is not None and tree.until.date.toordinal() < shared.today:
            continue
        own = tuple(notes[tree.id])
        facts = tree_facts(tree, shared.frame.season)
        before = previous.of(tree.id)
        key: object = (facts, before.signature()) if not own else tree.id
        profiles.setdefault(key, ((facts, own, before), []))[1].append(tree.id)
    return list(profiles.values())


def tree_facts(tree: Tree, season: int) -> TreeFacts:
    """The facts the engine uses, of a tree as the grower describes it."""
    return TreeFacts(
        taxon=tree.taxon,
        bench=tree.bench,
        winter_bench=tree.winter_bench,
        goals=tuple(tree.goal_in(season + step) for step in range(-2, 3)),
        age=tree.age,
        condition=tree.condition,
        size=tree.size,
        refined=tree.refined,
        multicoloured=tree.multicoloured,
        wired=tree.wired,
        frost_limit_c=tree.frost_limit_c,
        season_of_variety=tree.season_of_variety,
        repot_every_years=tree.repot_every_years,
        last_repot=tree.last_repot.date.toordinal() if tree.last_repot else None,
        known_from=tree.known_from.toordinal() if tree.known_from else None,
        until=tree.until.date.toordinal() if tree.until else None,
    )


def resolve(profile: Profile, rulebook: Rulebook, shared: Shared) -> TreeYears:
    """The resolved years of one tree."""
    facts, entries, previous = profile
    rules: TaxonRules = rulebook.taxa[facts.taxon]
    history = history_of(entries, rules, shared.frame.south) if entries else History()
    return TreeYears(shared, rules, facts, history, previous).resolve()


def weather_words(record: WeatherRecord, years: WeatherYears) -> str:
    """The weather behind every date."""
    if record.kind == "monthly":
        return "made from twelve monthly means only, so every date is rough"
    labels = sorted(years.labels)
    span = f"{labels[0]} to {labels[-1]}" if labels else "none"
    count = "1 weather year" if len(labels) == 1 else f"{len(labels)} weather years"
    words = f"{count} ({span}) of the record"
    if years.observed_until > years.first_day:
        words += f", observed up to {day_words(years.observed_until - 1)}"
    if len(labels) < FEW_YEARS:
        words = f"few years: {words}"
    return words


def _put_on_board(found: list[Draft], board: Board, trees: int) -> None:
    for draft in found:
        if draft.kind == "work":
            board.add(draft.rule, draft.season, draft.day, trees)


def _unknowns(years: TreeYears, found: list[Draft]) -> list[str]:
    """What a person should be told of one tree: facts asked for, choices made, weather missing."""
    said: list[str] = []
    asked: defaultdict[str, set[str]] = defaultdict(set)
    for (id, step), outcome in years.outcomes.items():
        if step not in (0, 1):
            continue
        season = years.frame.season + step
        if outcome.state == "asked":
            asked[outcome.reason].add(id)
        elif outcome.state == "unknown":
            said.append(f"{id} {season}: unknown, {outcome.reason}")
        elif outcome.choice is not None:
            said.append(f"{id} {season}: {'. '.join(choice_words(outcome))}")
    said += [f"{reason}; needed for {', '.join(sorted(ids))}" for reason, ids in asked.items()]
    return said


def _weather_problems(record: WeatherRecord, years: WeatherYears) -> list[str]:
    count = len(years.labels)
    problems = [f"weather: {note}" for note in record.notes]
    problems += [f"weather: season {season} is left out: {why}" for season, why in years.left_out]
    if count < TOO_FEW_YEARS:
        problems.append(f"weather: {count} usable years, fewer than {TOO_FEW_YEARS}: dates are unknown")
    elif count < FEW_YEARS:
        problems.append(f"weather: few years: {count} usable, {FEW_YEARS} make a record")
    return problems


def _names(trees: set[str]) -> str:
    names = sorted(trees)
    return ", ".join(names) if len(names) <= 4 else f"{', '.join(names[:3])} and {len(names) - 3} more"


__all__ = ["Outcome", "Plan", "make_plan", "resolve", "share", "tree_facts", "twins", "weather_words"]
