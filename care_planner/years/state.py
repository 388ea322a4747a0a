"""The state of one tree's years while they are resolved: what is known so far, asked for by season.

Nothing here reads a clock, a file or another tree; what trees share (the frame, the weather of the
benches, the board of days) is handed in.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

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
from care_planner.stages.moments import LONG_AGO, Frame
from care_planner.stages.reach import Floats
from care_planner.stages.weather import TrackWeather, Weather
from care_planner.windows.facts import Facts
from care_planner.years.outcome import Outcome
from care_planner.years.previous import PreviousTree
from care_planner.years.tree_facts import TreeFacts
from care_planner.years.workdays import Board, Workdays

# Signs with a meaning of their own: the tree's coming, and that it was seen on its own bench.
ACQUIRED, STANDS_OUTSIDE = "acquired", "stands-outside"

BenchMoves = list[tuple[int, str]]  # (day, bench), in order


# Each holds the weather years of a tree that moves between benches: megabytes.
MOST_TRACKS = 48


@dataclass(frozen=True, eq=False)
class Shared:
    """What all trees of a collection share."""

    frame: Frame
    weather_years: int
    benches: Mapping[str, Weather]
    tracks: dict[tuple[str, tuple[tuple[int, str], ...]], Weather]
    workdays: Workdays
    walkdays: Workdays  # the same with the days of the bench walk as the favourite ones
    board: Board
    risks: Mapping[str, float]
    today: int
    until: int
    told_hours: bool = False  # whether works are laid into hours that people told
    silence: str = "ask"  # of heavy work without a note: "ask", or "as-planned"
    forecast: ForecastSays | None = None  # of the next days, where one was chosen
    # By taxon, belief, variety, stage and season: what members make of a belief.
    paces: dict[tuple[str, PaceBelief, float, str, int], Floats] = field(default_factory=dict)


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
        self.outcomes: dict[tuple[str, int], Outcome] = {}
        self.facts: dict[tuple[str, int], str] = {}
        self.load = np.zeros(shared.frame.days)
        self._weather: dict[int, Weather] = {}

    # What moments ask.

    @property
    def curve(self) -> BloomCurve | None:
        """The taxon's bloom curve."""
        return self.rules.taxon.bloom_curve

    def pace_of(self, stage: str, step: int) -> Floats:
        """The tree's pace for a stage in every member."""
        season, kept = self.frame.season + step, self.shared.paces
        key = (self.rules.id, self.belief, self.variety, stage, season)
        if key not in kept:
            scores = member_scores(self.shared.weather_years)
            kept[key] = paces_in_row(self.belief, stage, season, self.rules, scores, self.variety)
        return kept[key]

    def weather(self, step: int) -> Weather:
        """Where it stands up to the autumn of a season: the moves known by then."""
        if step not in self._weather:
            moves = tuple((day - self.frame.first_day, bench) for day, bench in self.moves(step))
            key = (self.tree.bench, moves)
            if not moves:
                self._weather[step] = self.home
            elif key not in self.shared.tracks:
                if len(self.shared.tracks) >= MOST_TRACKS:  # the oldest goes: trees far apart share few
                    del self.shared.tracks[next(iter(self.shared.tracks))]
                self.shared.tracks[key] = TrackWeather(self.shared.benches, self.tree.bench, moves)
            self._weather[step] = self.shared.tracks.get(key, self.home)
        return self._weather[step]

    def stage(self, id: str, step: int) -> Floats:
        """A stage's day in every member; UNKNOWN outside the span."""
        found = self.stages.get((id, step))
        return found if found is not None else self.frame.everywhere(UNKNOWN)

    def work(self, id: str, step: int) -> Floats:
        """The day of a work that counts, or that may have been done; else NEVER."""
        outcome = self.outcomes.get((id, step))
        known = outcome is not None and (outcome.counts or outcome.is_open)
        return self.frame.everywhere(outcome.day if outcome is not None and known else NEVER)

    def last_cut(self, step: int) -> Floats:
        """The latest cut of shoots in a season, else long ago."""
        days = [o.last_day for o, effect in self.effects_in(step) if effect.cuts_shoots and o.counts]
        return self.frame.everywhere(max(days, default=LONG_AGO))

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

    def frost_limit_c(self, step: int) -> float:
        """The limit in force in the winter that ends or begins in a season."""
        return self.tree.frost_limit(self.rules.taxon, self.facts.get(("roots_worked", step)) == "yes")

    # What works have changed.

    def moves(self, step: int) -> list[tuple[int, str]]:
        """(day, bench) in order: notes, and works that move the tree, up to the spring of a season."""
        moves = {*self.history.moves, *self._seen_outside()}
        if self.tree.winter_bench is not None:
            for (_, at), outcome in self.outcomes.items():
                # A move that nobody noted is taken as made until the answer, as it mostly was.
                for effect in outcome.rule.effects if outcome.is_open else outcome.effects():
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
        for (_, at), outcome in self.outcomes.items():
            for effect in outcome.effects():
                if at + SEASON_STEP[effect.season] == step:
                    yield outcome, effect

    def all_facts(self, step: int) -> Facts:
        """The facts a rule's conditions look at, in the rulebook's words."""
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
            "new_here": "yes" if np.isfinite(self.sign(ACQUIRED, step)[0]) else "no",
        }

    def _condition(self, step: int) -> str:
        """The latest condition noted before the season's end, else the collection's."""
        noted = [word for day, word in self.history.conditions if day < self.frame.start_of(step + 1)]
        return noted[-1] if noted else self.tree.told("condition")


def bench_on(day: int, years: TreeYears, moves: BenchMoves) -> str:
    """The bench a tree stands on; `moves` are (day, bench) in order."""
    before = [bench for at, bench in moves if at <= day]
    return before[-1] if before else years.tree.bench
