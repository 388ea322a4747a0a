"""The flow on one page: collection + journal + climate + rulebook -> stages -> windows -> tasks.

Pure: no clock, no disk, no network; the order of trees, rules and entries changes nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import WeatherYears, lay_weather_years
from care_planner.collection.model import Collection
from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.spans import HALF_YEAR_DAYS, is_south, season_of, season_start
from care_planner.stages.members import FEW_YEARS, TOO_FEW_YEARS, member_rows
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.weather import BenchWeather, Weather
from care_planner.tasks.draft import Draft
from care_planner.tasks.history import history_of
from care_planner.tasks.model import Task
from care_planner.tasks.previous import NO_PREVIOUS, PreviousPlan, PreviousTree
from care_planner.tasks.resolve import Shared, TreeYears
from care_planner.tasks.result import TreeResult, tree_result
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
    cache: "PlanCache | None" = None,
) -> Plan:
    """Plan every tree from `today` to the end of the season after the current one.

    Every taxon of the collection must be in the rulebook. Entries dated after `today` are left out.
    Days of the `previous` plan stand unless there is a reason against them. A `cache` given again makes
    planning anew after a few notes cheap; the plan is the same as without it.
    """
    shared, years = (cache or PlanCache()).share(collection, record, rulebook, today)
    weather = weather_words(record, years)
    tasks: list[Task] = []
    done: list[Task] = []
    rows: list[dict[str, Any]] = []
    fates: dict[str, Mapping[tuple[str, int], str]] = {}
    unknown: defaultdict[str, set[str]] = defaultdict(set)
    for profile, trees in twins(collection, entries, shared, previous):
        result = cache.result(profile) if cache is not None else None
        if result is None:
            result = tree_result(resolve(profile, rulebook, shared), weather)
            if cache is not None:
                cache.keep(profile, result)
        _put_on_board(result.drafts, shared.board, len(trees))
        taxon = profile[0].taxon
        for tree in trees:
            tasks += [draft.task(tree, taxon) for draft in result.drafts]
            done += [draft.task(tree, taxon) for draft in result.done]
            rows += [{"tree": tree, **row} for row in result.stages]
            fates[tree] = result.fates
            for words in result.unknown:
                unknown[words].add(tree)
    problems = [f"{_names(trees)}: {words}" for words, trees in unknown.items()]
    problems += _weather_problems(record, years)
    tasks.sort(key=lambda task: (task.day, task.tree, task.rule, task.season, task.key))
    season, until = shared.frame.season, shared.until
    return Plan(today, season, until, tasks, rows, sorted(problems), done, fates)


class PlanCache:
    """What a next plan of the same day can take over: trees whose facts, notes and published days are the
    same, as long as the collection's other parts, the record and the rules are the very same."""

    def __init__(self) -> None:
        self._basis: tuple[Any, ...] = ()
        self._shared: tuple[Shared, WeatherYears] | None = None
        self._results: dict[Any, tuple[TreeResult, Any]] = {}

    def share(
        self, collection: Collection, record: WeatherRecord, rulebook: Rulebook, today: int
    ) -> tuple[Shared, WeatherYears]:
        """What all trees share, with an empty board; results kept on another basis are dropped."""
        rest = collection.model_copy(update={"trees": ()})
        basis = (rest, id(record), id(rulebook), today)
        if self._shared is None or basis != self._basis:
            self._basis, self._results = basis, {}
            self._shared = share(collection, record, today)
            self._kept = (record, rulebook)  # keeps the ids above from being used again
        shared, years = self._shared
        return replace(shared, board=Board()), years

    def result(self, profile: Profile) -> TreeResult | None:
        """The kept result of such a tree, if its published days are what it was made from or what it made."""
        facts, entries, previous = profile
        found = self._results.get((facts, entries))
        if found is None:
            return None
        result, made_from = found
        now = previous.signature()
        return result if now in (made_from, result.signature()) else None

    def keep(self, profile: Profile, result: TreeResult) -> None:
        """Remember a result."""
        facts, entries, previous = profile
        self._results[facts, entries] = (result, previous.signature())


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
    known_from = tree.known_from or tree.acquired
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
        known_from=known_from.toordinal() if known_from else None,
        until=tree.until.date.toordinal() if tree.until else None,
    )


def resolve(profile: Profile, rulebook: Rulebook, shared: Shared) -> TreeYears:
    """The resolved years of one tree."""
    facts, entries, previous = profile
    rules: TaxonRules = rulebook.taxa[facts.taxon]
    repotted = facts.last_repot if (facts.last_repot or 0) <= shared.today else None
    history = history_of(entries, rules, shared.frame.south, repotted)
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


def _put_on_board(found: Sequence[Draft], board: Board, trees: int) -> None:
    for draft in found:
        if draft.kind == "work":
            board.add(draft.rule, draft.season, draft.day, trees)


def _weather_problems(record: WeatherRecord, years: WeatherYears) -> list[str]:
    count = len(years.labels)
    problems = [f"weather: {note}" for note in record.notes]
    problems += _seasons_left_out(years.left_out)
    if count < TOO_FEW_YEARS:
        problems.append(f"weather: {count} usable years, fewer than {TOO_FEW_YEARS}: dates are unknown")
    elif count < FEW_YEARS:
        problems.append(f"weather: few years: {count} usable, {FEW_YEARS} make a record")
    return problems


def _seasons_left_out(left_out: Sequence[tuple[int, str]]) -> list[str]:
    by_reason: dict[str, list[int]] = {}
    for season, why in left_out:
        # A leap year's day more is no reason of its own.
        by_reason.setdefault(why.replace(" of 366 ", " of 365 "), []).append(season)
    return [
        f"weather: season {seasons[0]} is left out: {why}"
        if len(seasons) == 1
        else f"weather: {len(seasons)} seasons ({seasons[0]} to {seasons[-1]}) are left out: {why}"
        for why, seasons in by_reason.items()
    ]


def _names(trees: set[str]) -> str:
    names = sorted(trees)
    return ", ".join(names) if len(names) <= 4 else f"{', '.join(names[:3])} and {len(names) - 3} more"
