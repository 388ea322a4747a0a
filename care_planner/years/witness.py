"""A witness stands for a tree's years while something is worked out, and notes what is asked of them.

`shared_by_answers` is the way in: what another tree with the same answers had is handed out again.
"""

from collections.abc import Callable, Hashable, Mapping
from typing import Any, TypeVar, cast

from care_planner.years import queries
from care_planner.years.kept import Kept, Made, Question
from care_planner.years.neighbour import as_before
from care_planner.years.state import TreeYears
from care_planner.years.tree_facts import TreeFacts

Result = TypeVar("Result")


def shared_by_answers(
    name: Hashable, years: TreeYears, kept: Kept[TreeYears], make: Callable[[TreeYears], Result]
) -> Result:
    """What `make` makes of a tree's years, or made of others that answer the same.

    `name` says what is made. `make` may ask the years handed to it and take days; it changes nothing else.
    """
    found = as_before(name, years)
    if found is None:
        end = kept.find(name, years)
        if end is None:
            witness = Witness(years)
            result = make(cast(TreeYears, witness))
            years.made[name] = made = witness.made(result)
            kept.keep(name, witness.asked.items(), made)
            vars(witness).clear()  # its parts hold it, and it holds the years: a circle
            return result
        found = cast(Made, end.made)
    years.made[name] = found
    for column in found.taken:
        years.take(column)
    return cast(Result, found.result)


class Witness:
    """The years of one tree as those ask for them who work something out; every answer is noted."""

    def __init__(self, years: TreeYears) -> None:
        self._years = years
        self.asked: dict[Question, Hashable] = {}
        self.taken: list[int] = []
        # The same for all trees of a taxon in one plan.
        self.rules, self.frame, self.shared, self.curve = years.rules, years.frame, years.shared, years.curve
        self.history = _Fields(self, years.history)
        self.previous = _Previous(self)
        self.tree = _Tree(self)
        self.belief = _Belief(self)
        self.load = _Load(self)
        self.outcomes = _Lookups(self, (queries.outcome,), years.outcomes)
        self.facts = _Lookups(self, (queries.season_fact,), years.facts)
        self.laid = _Lookups(self, (queries.laid,), years.laid)

    def note(self, ask: Callable[..., Hashable], *about: Any) -> TreeYears:
        """Write down a question with its answer; returns the years that are asked."""
        if (ask, about) not in self.asked:
            self.asked[ask, about] = ask(self._years, *about)
        return self._years

    def made(self, result: object) -> Made:
        """A result with what was asked for it."""
        plain = frozenset(one for one in self.asked if one[0] in queries.FOLLOWED)
        other = tuple((one, said) for one, said in self.asked.items() if one not in plain)
        return Made(result, tuple(self.taken), plain, other)

    def take(self, column: int) -> None:
        """A day is taken."""
        self.taken.append(column)
        self._years.take(column)

    # What may be asked, as in `TreeYears`.

    @property
    def home(self) -> Any:
        return self.note(queries.home).home

    def stage(self, id: str, step: int) -> Any:
        return self.note(queries.stage, id, step).stage(id, step)

    def pace_of(self, stage: str, step: int) -> Any:
        return self.note(queries.pace, stage, step).pace_of(stage, step)

    def weather(self, step: int) -> Any:
        return self.note(queries.weather, step).weather(step)

    def work(self, id: str, step: int) -> Any:
        return self.note(queries.outcome, (id, step)).work(id, step)

    def last_cut(self, step: int) -> Any:
        return self.note(queries.last_cut, step).last_cut(step)

    def sign(self, id: str, step: int) -> Any:
        self.note(queries.tree, "acquired")
        return self.note(queries.noted, "signs", (id, self.frame.season + step)).sign(id, step)

    def noted_work(self, id: str, step: int) -> Any:
        return self.note(queries.noted, "works", (id, self.frame.season + step)).noted_work(id, step)

    def opened(self, step: int) -> Any:
        return self.note(queries.noted, "opened", self.frame.season + step).opened(step)

    def first_night(self, at_most_c: Any, step: int) -> Any:
        return self.note(queries.first_night, at_most_c, step).first_night(at_most_c, step)

    def last_night(self, at_most_c: Any, step: int) -> Any:
        return self.note(queries.last_night, at_most_c, step).last_night(at_most_c, step)

    def night_limit_c(self, at_most_c: Any, step: int) -> float:
        return self.note(queries.night_limit, at_most_c, step).night_limit_c(at_most_c, step)

    def effects_on_stages(self, step: int) -> Any:
        return self.note(queries.effects_on_stages, step).effects_on_stages(step)

    def into_shelter(self, step: int) -> Any:
        return self.note(queries.into_shelter, step).into_shelter(step)

    def all_facts(self, step: int) -> Any:
        return _Lookups(self, (queries.fact, step), self._years.all_facts(step))

    def bench_at(self, day: int) -> str:
        return self.note(queries.bench, day).bench_at(day)

    def given(self, rule: str, season: int) -> Any:
        return self.note(queries.given, rule, season).given(rule, season)

    def published(self, rule: str, season: int) -> Any:
        return self.note(queries.published, rule, season).published(rule, season)


class _Lookups:
    """A mapping or a set that is asked for one thing at a time."""

    def __init__(self, witness: Witness, question: tuple[Any, ...], held: Any) -> None:
        self._witness, self._question, self._held = witness, question, held

    def __getitem__(self, key: Any) -> Any:
        self._witness.note(*self._question, key)
        return self._held[key]

    def get(self, key: Any, otherwise: Any = None) -> Any:
        self._witness.note(*self._question, key)
        return self._held.get(key, otherwise)

    def __contains__(self, key: Any) -> bool:
        self._witness.note(*self._question, key)
        return key in self._held


class _AllOrOne(_Lookups):
    """The same, where all of it may be asked for too."""

    def items(self) -> Any:
        self._witness.note(queries.all_noted, self._question[1])
        return self._held.items()


class _Fields:
    """The fields of a tree's notes."""

    def __init__(self, witness: Witness, held: Any) -> None:
        self._witness, self._held = witness, held

    def __getattr__(self, field: str) -> Any:
        value = getattr(self._held, field)
        if isinstance(value, Mapping | frozenset):
            return _AllOrOne(self._witness, (queries.noted, field), value)
        self._witness.note(queries.all_noted, field)
        return value


class _Previous:
    """What was published."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness
        held = witness._years.previous
        self.tasks = _Lookups(witness, (queries.was, "tasks"), held.tasks)
        self.stages = _Lookups(witness, (queries.was, "stages"), held.stages)

    @property
    def made_on(self) -> int:
        return self._witness.note(queries.made_on).previous.made_on


class _Tree:
    """The facts of a tree, and what follows from them."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def __getattr__(self, name: str) -> Any:
        if name in TreeFacts.__dataclass_fields__:
            return getattr(self._witness.note(queries.tree, name).tree, name)
        return getattr(TreeFacts, name).__get__(self)


class _Belief:
    """What is believed of a tree's pace."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def of(self, stage: str, season: int, pace: Any) -> tuple[float, float]:
        return self._witness.note(queries.belief, stage, season).belief.of(stage, season, pace)


class _Load:
    """What a tree has on its days, looked at a span at a time."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def __getitem__(self, span: slice) -> Any:
        return self._witness.note(queries.load, span.start, span.stop).load[span]
