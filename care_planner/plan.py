"""The flow on one page: collection + journal + climate + rulebook -> stages -> windows -> tasks.

Pure: no clock, no disk, no network; the order of trees, rules and entries changes nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from care_planner.climate.outlook import Outlook
from care_planner.climate.record import WeatherRecord
from care_planner.climate.wet_days import wet_shares
from care_planner.collection.model import Collection
from care_planner.colours.cautions import signs, with_branches
from care_planner.colours.ledger import TaxonLedger, ledgers
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import is_south, season_of, season_start
from care_planner.tasks.fate import Fate
from care_planner.tasks.left_out import LeftBecause
from care_planner.tasks.levelling import NOT_LEVELLED, Lay, Levelled, TimeThere, Week, level
from care_planner.tasks.model import Task
from care_planner.tasks.notices import Notice
from care_planner.tasks.questions import Question, Unanswered, questions
from care_planner.tasks.result import TreeResult, tree_result
from care_planner.tasks.stage_rows import StageRow
from care_planner.years.basis import Basis
from care_planner.years.common import weather_behind, weather_notices
from care_planner.years.hours.lay import lay
from care_planner.years.named import named
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan
from care_planner.years.profiles import Profile, noted_trees, resolve_profile, twins
from care_planner.years.standing import STANDS_AHEAD, Stand
from care_planner.years.state import Shared
from care_planner.years.workdays import Board, Given


@dataclass(frozen=True, eq=False)
class Plan:
    """Dated tasks of every tree, the stages they rest on, and what is not known. Days are ordinals."""

    today: int
    season: int
    until: int  # the last day planned for
    tasks: Sequence[Task]
    stages: Sequence[StageRow]
    notices: Sequence[Notice]  # what a person should be told beside the dates
    done: Sequence[Task]  # noted as done not long ago: still shown, marked so
    fates: Mapping[str, Mapping[tuple[str, int], Fate]]  # by tree: why a (rule, season) is not planned
    taxa: Mapping[str, str]  # by tree
    questions: Sequence[Question] = ()  # work of which no note tells
    # By tree, rule and season: on how many of how many plants of a tray a work was done, where not on all.
    part_done: Mapping[tuple[str, str, int], tuple[int, int]] = field(default_factory=dict)
    weather_years: int = 0  # usable ones, behind every date
    only_means: bool = False  # the weather is twelve monthly means
    left: Mapping[str, tuple[int, str]] = field(default_factory=dict)  # by tree that has left: last day, why
    full_weeks: Sequence[Week] = ()  # those that hold more work than hours, where people told theirs
    left_because: Mapping[str, LeftBecause] = field(default_factory=dict)  # by the key of a task left out
    # By day, from today: where every tree stands and what cold it bears there.
    stands: Mapping[int, Sequence[Stand]] = field(default_factory=dict)


# A laid day moves what hangs on it, so works are laid again until nothing moves, at most so many times.
MOST_LAYINGS = 4

Alike = tuple[Profile, list[str]]
Resolved = tuple[Profile, list[str], TreeResult]


def make_plan(
    collection: Collection,
    entries: Iterable[Entry],
    record: WeatherRecord,
    rulebook: Rulebook,
    today: int,
    previous: PreviousPlan = NO_PREVIOUS,
    cache: "PlanCache | None" = None,
    how: Lay = lay,
    outlook: Outlook | None = None,
) -> Plan:
    """Plan every tree from `today` to the end of the season after the current one.

    Every taxon of the collection must be in the rulebook. Entries dated after `today` are left out.
    An `outlook` is the forecast of the next days, laid over every weather year.
    Days of the `previous` plan stand unless there is a reason against them. A `cache` given again makes
    planning anew after a few notes cheap; the plan is the same as without it. Where people told their hours
    works are laid into them, `how` says by which method.
    """
    basis = (cache or PlanCache()).basis(collection, record, rulebook, today, outlook)
    shared = basis.with_empty_board()
    weather = weather_behind(record, basis.weather_years, outlook)
    noted = noted_trees(collection, entries, shared)
    learnt = basis.learn(noted)
    tasks: list[Task] = []
    done: list[Task] = []
    rows: list[StageRow] = []
    fates: dict[str, Mapping[tuple[str, int], Fate]] = {}
    taxa: dict[str, str] = {}
    part_done: dict[tuple[str, str, int], tuple[int, int]] = {}
    told: defaultdict[Notice, set[str]] = defaultdict(set)
    open_parts: list[tuple[str, str, Unanswered]] = []
    stands: dict[int, list[Stand]] = {day: [] for day in range(today, today + STANDS_AHEAD + 1)}

    def resolved(profiles: Iterable[Alike], shared: Shared) -> Iterator[Resolved]:
        for profile, trees in profiles:
            result = cache.result(profile, shared.board) if cache is not None else None
            if result is None:
                result = tree_result(resolve_profile(profile, rulebook, shared), weather)
                if cache is not None:
                    cache.keep(profile, result, shared.board)
            _put_on_board(result.drafts, shared.board)
            yield profile, trees, result
        shared.let_go()

    found: Iterable[Resolved] = resolved(twins(noted, today, previous, learnt), shared)
    levelled = NOT_LEVELLED
    if collection.people.told_hours:
        in_hours = list(found)
        for _ in range(MOST_LAYINGS):
            before, levelled = levelled, _levelled(in_hours, collection, record, shared, how)
            if (before.laid, before.left) == (levelled.laid, levelled.left):
                break
            in_hours = list(resolved(_as_laid(in_hours, levelled), basis.with_empty_board()))
        found = in_hours
    for profile, trees, result in found:
        for tree in trees:
            tasks += _marked(result.tasks_of(tree), levelled.left.get(tree))
            done += [named(task, tree) for task in result.done]
            rows += [named(row, tree) for row in result.stages]
            part_done |= {(tree, *key): told for key, told in result.part_done.items()}
            fates[tree], taxa[tree] = result.fates, profile.facts.taxon
            open_parts += [(tree, profile.facts.taxon, part) for part in result.unanswered]
            for held, stand in zip(stands.values(), result.stands, strict=True):
                held.append(named(stand, tree))
            for notice in result.notices:
                told[notice].add(tree)
    notices = [replace(notice, trees=tuple(sorted(trees))) for notice, trees in told.items()]
    notices += [Notice(what) for what in weather_notices(record, basis.weather_years)]
    tasks.sort(key=lambda task: (task.day, task.tree, task.rule, task.season, task.key))
    season, until = shared.frame.season, shared.until
    asked, count = questions(open_parts, rulebook, shared), len(basis.weather_years.labels)
    left = {
        tree.id: (tree.until.date.toordinal(), tree.until.why)
        for tree in collection.trees
        if tree.until is not None and tree.until.date.toordinal() <= today
    }
    told_in_order = sorted(notices, key=str)
    return Plan(
        today,
        season,
        until,
        tasks,
        rows,
        told_in_order,
        done,
        fates,
        taxa,
        questions=asked,
        part_done=part_done,
        weather_years=count,
        only_means=record.kind == "monthly",
        left=left,
        full_weeks=levelled.weeks,
        left_because=levelled.why,
        stands={day: sorted(held) for day, held in stands.items()},
    )


def _levelled(
    found: Sequence[Resolved], collection: Collection, record: WeatherRecord, shared: Shared, how: Lay
) -> Levelled:
    people = collection.people
    groups = [(trees, result.rooms, result.drafts) for _, trees, result in found]
    span = range(shared.today, shared.until + 1)
    wet = wet_shares(record, span.start, len(span))
    return level(groups, TimeThere(span, people.minutes, people.walk_day, people.is_favourite, wet), how)


def _as_laid(found: Sequence[Resolved], levelled: Levelled) -> Iterator[Alike]:
    """Trees planned alike, apart where their works were laid on different days."""
    for profile, trees, _ in found:
        apart: defaultdict[tuple[tuple[str, int], ...], list[str]] = defaultdict(list)
        for tree in trees:
            apart[levelled.laid.get(tree, ())].append(tree)
        yield from ((profile._replace(laid=laid), same) for laid, same in apart.items())


def _marked(tasks: Sequence[Task], left: frozenset[str] | None) -> Sequence[Task]:
    """Tasks, those that found no time marked so."""
    if not left:
        return tasks
    return [replace(task, left=True) if task.part in left else task for task in tasks]


def plan_with_colours(
    collection: Collection,
    entries: Sequence[Entry],
    record: WeatherRecord,
    rulebook: Rulebook,
    today: int,
    previous: PreviousPlan = NO_PREVIOUS,
    cache: "PlanCache | None" = None,
    outlook: Outlook | None = None,
    how: Lay = lay,
) -> Plan:
    """`make_plan` with what flowers tell: works for young plants, and branches named where a rule asks."""
    known = ledgers(collection, entries, rulebook, today)
    noted = _signs(collection, known, rulebook, today)
    held = [*entries, *noted]
    plan = make_plan(collection, held, record, rulebook, today, previous, cache, how, outlook)
    tasks, notices = with_branches(plan.tasks, plan.season, known, rulebook)
    return replace(plan, tasks=tasks, notices=[*plan.notices, *notices])


def signs_of_young_plants(
    collection: Collection, entries: Iterable[Entry], rulebook: Rulebook, today: int
) -> list[Entry]:
    """What `plan_with_colours` adds to the entries."""
    return _signs(collection, ledgers(collection, entries, rulebook, today), rulebook, today)


def _signs(
    collection: Collection, known: Iterable[TaxonLedger], rulebook: Rulebook, today: int
) -> list[Entry]:
    south = is_south(collection.site.latitude)
    return signs(known, rulebook, season_start(season_of(today, south), south))


class PlanCache:
    """What a next plan of the same day can take over: trees whose facts, notes, beliefs and published days
    are the same, as long as all of them stand on the same basis. Only the last plan's are kept."""

    def __init__(self) -> None:
        self._basis: Basis | None = None
        self._results: dict[Any, _KeptResult] = {}
        self._before: dict[Any, _KeptResult] = {}

    def basis(
        self,
        collection: Collection,
        record: WeatherRecord,
        rulebook: Rulebook,
        today: int,
        outlook: Outlook | None = None,
    ) -> Basis:
        """The basis of a plan that begins; results kept on another one are dropped, or of plans before the
        last."""
        self._before, self._results = self._results, {}
        if self._basis is None or not self._basis.is_of(collection, record, rulebook, today, outlook):
            self._basis, self._before = Basis(collection, record, rulebook, today, outlook), {}
        return self._basis

    def result(self, profile: Profile, board: Board) -> TreeResult | None:
        """The kept result of such a tree: if its published days are what it made, so that they stand, or if
        they are what it was made from and the days of the trees before it are the same."""
        key = _key(profile)
        found = self._before.get(key)
        if found is None:
            return None
        result, made_from, asked = found
        now = profile.previous.signature()
        if now == result.signature() or (now == made_from and board.still_says(asked)):
            self._results[key] = found
            return result
        return None

    def keep(self, profile: Profile, result: TreeResult, board: Board) -> None:
        """Remember a result, and what it asked the board for."""
        self._results[_key(profile)] = (result, profile.previous.signature(), board.asked())


_KeptResult = tuple[TreeResult, Any, Given]  # what it was made from, and what it asked the board for


def _key(profile: Profile) -> tuple[Any, ...]:
    return profile.facts, profile.entries, profile.belief, profile.laid


def _put_on_board(found: Sequence[Task], board: Board) -> None:
    for draft in found:
        if draft.kind == "work":
            board.add(draft.rule, draft.season, draft.day)
