"""The state of one tree's years while they are resolved: what is known so far, asked for by season.

Nothing here reads a clock, a file or another tree; what trees share (the frame, the weather of the
benches, the board of days) is handed in.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from hashlib import blake2b

import numpy as np

from care_planner.climate.forecast_blend import ForecastSays
from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief, paces_in_row
from care_planner.rulebook.effect import Effect
from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.taxon import BloomCurve
from care_planner.spans import NEVER, UNKNOWN, season_of
from care_planner.stages.history import History
from care_planner.stages.members import member_scores
from care_planner.stages.moments import LONG_AGO, Frame, NightLimit, first_night, last_night
from care_planner.stages.reach import Floats
from care_planner.stages.weather import TrackWeather, Weather
from care_planner.windows.facts import Facts
from care_planner.years.kept import Kept, Made, Question
from care_planner.years.outcome import Outcome
from care_planner.years.previous import PreviousTree
from care_planner.years.tree_facts import TreeFacts
from care_planner.years.workdays import Board, Workdays

# Signs with a meaning of their own: the tree's coming, and that it was seen on its own bench.
ACQUIRED, STANDS_OUTSIDE = "acquired", "stands-outside"

BenchMoves = list[tuple[int, str]]  # (day, bench), in order
Way = tuple[str, tuple[tuple[int, str], ...]]  # a tree's own bench, and its moves as (column, bench)
FindNight = Callable[[float, int, Frame, Weather], Floats]
Spans = tuple[tuple[int, int], ...]
Beliefs = tuple[tuple[float, float], ...]  # mean and spread of a stage's pace and of those before it in row
LAST_STEP = 3  # all moves are known by then


# Each holds the weather years of a tree that moves between benches: megabytes.
MOST_TRACKS = 12


@dataclass(frozen=True, eq=False)
class Shared:
    """What all trees of a collection share."""

    frame: Frame
    weather_years: int
    benches: Mapping[str, Weather]
    # By bench the first that feels the very same weather: trees on either are told apart by nothing in it.
    feels_as: Mapping[str, str]
    tracks: dict[Way, Weather]
    workdays: Workdays
    walkdays: Workdays  # the same with the days of the bench walk as the favourite ones
    board: Board
    risks: Mapping[str, float]
    today: int
    until: int
    told_hours: bool = False  # whether works are laid into hours that people told
    silence: str = "ask"  # of heavy work without a note: "ask", or "as-planned"
    forecast: ForecastSays | None = None  # of the next days, where one was chosen
    # By taxon, variety, stage and what is believed of it: what members make of that, and its mark.
    paces: dict[tuple[str, float, str, Beliefs], tuple[Floats, bytes]] = field(default_factory=dict)
    kept: "Kept[TreeYears]" = field(default_factory=Kept)  # what holds for more than one tree
    apart: "dict[Spans, Shared]" = field(default_factory=dict)  # what trees share whose works are put off

    def anew(self) -> "Shared":
        """The same, with no work on any day yet and nothing kept."""
        return replace(self, board=Board(), kept=Kept(), paces={}, apart={})

    def with_bench(self, name: str, weather: Weather) -> "Shared":
        """The same with one bench more, and nothing kept: its name may have meant another weather."""
        benches, feels_as = {**self.benches, name: weather}, {**self.feels_as, name: name}
        return replace(self, benches=benches, feels_as=feels_as, tracks={}, kept=Kept())

    def let_go(self) -> None:
        """Part from the trees that others were held beside. They hold this: the circle would keep all weather
        of a plan that is over until a collector of circles comes by, which is seldom (see `cli.py`)."""
        for one in (self, *self.apart.values()):
            one.kept.latest.clear()

    def with_days_off(self, spans: "Spans") -> "Shared":
        """What trees share that have no work from the first to the last day (ordinals) of some spans."""
        if not spans:
            return self
        if spans not in self.apart:
            days = self.workdays.without(spans)
            self.apart[spans] = replace(self, workdays=days, kept=Kept())
        return self.apart[spans]


class TreeYears:
    """The resolved years of one tree (or of twins): a View for moments, and the results."""

    def __init__(
        self,
        shared: Shared,
        rules: TaxonRules,
        tree: TreeFacts,
        history: History,
        previous: PreviousTree | None = None,
        belief: PaceBelief = NOTHING_LEARNT,
        laid: Mapping[str, int] | None = None,  # days laid into people's hours, by part of a task's key
    ) -> None:
        self.shared, self.rules, self.tree, self.history = shared, rules, tree, history
        self.previous, self.belief, self.laid = previous or PreviousTree(), belief, laid or {}
        self.frame = shared.frame
        self.variety = rules.taxon.pace.of_variety(tree.season_of_variety)
        self.home = shared.benches[tree.bench]
        self.stages: dict[tuple[str, int], Floats] = {}
        self._marks: dict[tuple[str, int], bytes] = {}  # of the stages: equal where their days are
        self.outcomes: dict[tuple[str, int], Outcome] = {}
        self.facts: dict[tuple[str, int], str] = {}
        self.load = np.zeros(shared.frame.days)
        self._ways: dict[int, Way] = {}
        self._nights: dict[tuple[FindNight, float, int], tuple[Floats, bytes]] = {}
        self._last_moves: BenchMoves | None = None
        # By the step in which they fall: the effects of works, with the work they come from.
        self._effects: defaultdict[int, list[tuple[Outcome, Effect]]] = defaultdict(list)
        self._movers: list[Outcome] = []  # what becomes of works that may move the tree
        self._facts_of: dict[int, tuple[int, Facts]] = {}  # by step, with how many facts were known then
        # What was shared with other trees, by its name; the tree of its kind before it, and the questions
        # known so far to be answered otherwise than for that one.
        self.made: dict[Hashable, Made] = {}
        self.before: TreeYears | None = None
        self.differs: set[Question] = set()

    def reach(self, id: str, step: int, days: Floats, mark: bytes) -> None:
        """Keep the days of a stage in the season at a step, with their mark."""
        self.stages[id, step], self._marks[id, step] = days, mark

    def settle(self, id: str, step: int, outcome: Outcome) -> None:
        """Keep what became of a rule in the season at a step."""
        self.outcomes[id, step] = outcome
        for effect in outcome.effects:
            self._effects[step + SEASON_STEP[effect.season]].append((outcome, effect))
        if outcome.may_move:
            self._movers.append(outcome)

    # What moments ask.

    @property
    def curve(self) -> BloomCurve | None:
        """The taxon's bloom curve."""
        return self.rules.taxon.bloom_curve

    def pace_of(self, stage: str, step: int) -> Floats:
        """The tree's pace for a stage in every member."""
        return self._pace(stage, step)[0]

    def pace_mark(self, stage: str, step: int) -> bytes:
        """Equal where the paces are."""
        return self._pace(stage, step)[1]

    def _pace(self, stage: str, step: int) -> tuple[Floats, bytes]:
        season, kept = self.frame.season + step, self.shared.paces
        row = (stage, *(before for before, _ in self.rules.in_row.get(stage, ())))
        beliefs = tuple(self.belief.of(id, season, self.rules.taxon.pace) for id in row)
        key = (self.rules.id, self.variety, stage, beliefs)
        if key not in kept:
            scores = member_scores(self.shared.weather_years)
            paces = paces_in_row(self.belief, stage, season, self.rules, scores, self.variety)
            kept[key] = paces, mark_of(paces)
        return kept[key]

    def weather(self, step: int) -> Weather:
        """Where it stands up to the autumn of a season: the moves known by then."""
        bench, moves = way = self.way_of(step)
        if not moves:
            return self.home
        tracks = self.shared.tracks
        found = tracks.pop(way, None)
        if found is None and len(tracks) >= MOST_TRACKS:  # the one not asked for longest goes
            del tracks[next(iter(tracks))]
        tracks[way] = found or TrackWeather(self.shared.benches, bench, moves)
        return tracks[way]

    def way_of(self, step: int) -> Way:
        """The tree's own bench, and its moves (column, bench) known when it is first asked where it stands up
        to the autumn of a season; each bench as the first that feels the same."""
        if step not in self._ways:
            feels_as, first = self.shared.feels_as, self.frame.first_day
            moves = tuple((day - first, feels_as[bench]) for day, bench in self.moves(step))
            self._ways[step] = feels_as[self.tree.bench], moves
        return self._ways[step]

    def stage(self, id: str, step: int) -> Floats:
        """A stage's day in every member; UNKNOWN outside the span."""
        found = self.stages.get((id, step))
        return found if found is not None else self.frame.everywhere(UNKNOWN)

    def mark_of(self, id: str, step: int) -> bytes | None:
        """Equal where the days of a stage are; None outside the span."""
        return self._marks.get((id, step))

    def work(self, id: str, step: int) -> Floats:
        """The day of a work that counts, or that may have been done; else NEVER."""
        outcome = self.outcomes.get((id, step))
        known = outcome is not None and (outcome.counts or outcome.is_open)
        return self.frame.everywhere(outcome.day if outcome is not None and known else NEVER)

    def last_cut(self, step: int) -> Floats:
        """The latest cut of shoots in a season, else long ago."""
        return self.frame.everywhere(self.last_cut_day(step))

    def last_cut_day(self, step: int) -> float:
        """The same as one day."""
        days = [o.last_day for o, effect in self.effects_in(step) if effect.cuts_shoots and o.counts]
        return max(days, default=LONG_AGO)

    def sign(self, id: str, step: int) -> Floats:
        """The day a sign was noted in a season, else NEVER; a tree's coming is told by the collection."""
        if id == ACQUIRED:
            came = self.tree.acquired
            here = came is not None and season_of(came, self.frame.south) == self.frame.season + step
            return self.frame.everywhere(came if came is not None and here else NEVER)
        day = self.history.signs.get((id, self.frame.season + step))
        return self.frame.everywhere(NEVER if day is None else day)

    def noted_work(self, id: str, step: int) -> Floats:
        """The first day on which a note says that a work was done, else NEVER."""
        days = self.history.works.get((id, self.frame.season + step))
        return self.frame.everywhere(days[0] if days else NEVER)

    def opened(self, step: int) -> tuple[tuple[int, float], ...]:
        """(day, share open) as noted in a season."""
        return self.history.opened.get(self.frame.season + step, ())

    def first_night(self, at_most_c: NightLimit, step: int) -> Floats:
        """The first cold night at its outdoor bench, from a season's midsummer to the next."""
        return self._night(first_night, at_most_c, step)[0]

    def last_night(self, at_most_c: NightLimit, step: int) -> Floats:
        """The last cold night there before a season's midsummer."""
        return self._night(last_night, at_most_c, step)[0]

    def first_night_mark(self, at_most_c: NightLimit, step: int) -> bytes:
        """Equal where the first nights are."""
        return self._night(first_night, at_most_c, step)[1]

    def last_night_mark(self, at_most_c: NightLimit, step: int) -> bytes:
        """Equal where the last nights are."""
        return self._night(last_night, at_most_c, step)[1]

    def _night(self, find: FindNight, at_most_c: NightLimit, step: int) -> tuple[Floats, bytes]:
        wanted = find, self.night_limit_c(at_most_c, step), step
        if wanted not in self._nights:
            days = find(wanted[1], step, self.frame, self.home)
            self._nights[wanted] = days, mark_of(days)
        return self._nights[wanted]

    def night_limit_c(self, at_most_c: NightLimit, step: int) -> float:
        """A limit in degC, where it may be the tree's own."""
        return self.frost_limit_c(step) if isinstance(at_most_c, str) else float(at_most_c)

    def frost_limit_c(self, step: int) -> float:
        """The limit in force in the winter that ends or begins in a season."""
        return self.tree.frost_limit(self.rules.taxon, self.facts.get(("roots_worked", step)) == "yes")

    # What works have changed.

    def moves(self, step: int) -> list[tuple[int, str]]:
        """(day, bench) in order: notes, and works that move the tree, up to the spring of a season."""
        moves = {*self.history.moves, *self._seen_outside()}
        if self.tree.winter_bench is not None:
            for outcome in self._movers:
                at = outcome.step
                # A move that nobody noted is taken as made until the answer, as it mostly was.
                for effect in outcome.rule.effects if outcome.is_open else outcome.effects:
                    if effect.moves_to is None or not np.isfinite(outcome.day):
                        continue
                    if at < step or (at == step and effect.moves_to == "bench"):
                        bench = (
                            self.tree.winter_bench if effect.moves_to == "winter-bench" else self.tree.bench
                        )
                        moves.add((int(outcome.day), bench))
        return sorted(moves)

    def _seen_outside(self) -> Iterator[tuple[int, str]]:
        for (id, _), day in self.history.signs.items():
            if id == STANDS_OUTSIDE:
                yield day, self.tree.bench

    def effects_in(self, step: int) -> Iterator[tuple[Outcome, Effect]]:
        """Effects that fall in a season, with the work they come from."""
        yield from self._effects.get(step, ())

    def effects_on_stages(self, step: int) -> list[tuple[Outcome, Effect]]:
        """Those of them that end stages or set them back."""
        found = self._effects.get(step, ())
        return [one for one in found if one[1].ends_stage is not None or one[1].sets_back is not None]

    def into_shelter(self, step: int) -> list[Outcome]:
        """The works of a season that have, or may have, moved the tree into shelter."""
        return [
            outcome
            for outcome in self._movers
            if outcome.step == step and (outcome.counts or outcome.is_open)
            if outcome.rule.moves("winter-bench")
        ]

    def bench_at(self, day: int) -> str:
        """The bench it stands on, with every move that is known in the end."""
        if self._last_moves is None:
            self._last_moves = self.moves(LAST_STEP)
        return bench_on(day, self, self._last_moves)

    # Days.

    def given(self, rule: str, season: int) -> frozenset[int]:
        """The days on which other trees have a work."""
        return self.shared.board.given(rule, season)

    def published(self, rule: str, season: int) -> Mapping[int, int]:
        """The days of a work in the last plan, by occurrence."""
        return self.previous.works.get((rule, season), {})

    def take(self, column: int) -> None:
        """One work more on a day."""
        self.load[column] += 1

    def all_facts(self, step: int) -> Facts:
        """The facts a rule's conditions look at, in the rulebook's words."""
        known, facts = self._facts_of.get(step, (-1, {}))
        if known != len(self.facts):  # a fact of a season, once known, stays as it is
            facts = self._facts_at(step)
            self._facts_of[step] = len(self.facts), facts
        return facts

    def _facts_at(self, step: int) -> Facts:
        told = {fact: self.tree.told(fact) for fact in ("age", "size", "refined", "multicoloured", "wired")}
        season = self.frame.season + step
        noted = frozenset(id for (id, at) in self.history.signs if at in (season, season - 1))
        return {
            **told,
            "goal": self.tree.goal(step),
            "condition": self._condition(step),
            "winter_bench": "yes" if self.tree.winter_bench is not None else "no",
            **{id: self.facts.get((id, step), "no") for id in ("buds", "bloom", "repot", "roots_worked")},
            "roots_worked_last_season": self.facts.get(("roots_worked", step - 1), "no"),
            "cut_last_season": self.facts.get(("cut", step - 1), "no"),
            "noted": noted,
            "new_here": "yes" if np.isfinite(self.sign(ACQUIRED, step)).any() else "no",
        }

    def _condition(self, step: int) -> str:
        """The latest condition noted before the season's end, else the collection's."""
        noted = [word for day, word in self.history.conditions if day < self.frame.start_of(step + 1)]
        return noted[-1] if noted else self.tree.told("condition")


def mark_of(days: Floats) -> bytes:
    """A mark that two arrays have in common where they are equal."""
    return blake2b(days.tobytes(), digest_size=16).digest()


def bench_on(day: int, years: TreeYears, moves: BenchMoves) -> str:
    """The bench a tree stands on; `moves` are (day, bench) in order."""
    before = [bench for at, bench in moves if at <= day]
    return before[-1] if before else years.tree.bench
