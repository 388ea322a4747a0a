"""A witness stands for a tree's years while something is worked out, and notes what is asked of them.

`shared_by_answers` is the way in: what another tree with the same answers had is handed out again.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping
from typing import Any, TypeVar, cast

from care_planner.years.kept import Kept
from care_planner.years.state import TreeYears
from care_planner.years.tree_facts import TreeFacts

Made = TypeVar("Made")
Question = tuple[Any, ...]  # what is asked for, and its arguments

# What each question is answered with: something that two trees have in common or not.
ANSWERS: Mapping[str, Callable[..., Hashable]] = {
    "stage": lambda years, id, step: years.mark_of(id, step),
    "pace": lambda years, stage, step: years.pace_mark(stage, step),
    "weather": lambda years, step: years.way_of(step),
    "home": lambda years: years.tree.bench,
    "outcome": lambda years, key: _told(years.outcomes.get(key)),
    "fact": lambda years, step, fact: years.all_facts(step)[fact],
    "season fact": lambda years, key: years.facts.get(key),
    "last cut": lambda years, step: float(years.last_cut(step)[0]) if years.frame.rows.size else None,
    "effects": lambda years, step: tuple((told.told, id(effect)) for told, effect in years.effects_in(step)),
    "into shelter": lambda years, step: tuple(outcome.told for outcome in years.into_shelter(step)),
    "frost limit": lambda years, step: years.frost_limit_c(step),
    "bench": lambda years, day: years.bench_at(day),
    "given": lambda years, rule, season: frozenset(years.given(rule, season)),
    "published": lambda years, rule, season: tuple(sorted(years.published(rule, season).items())),
    "load": lambda years, first, end: years.load[first:end].tobytes(),
    "laid": lambda years, part: years.laid.get(part),
    "tree": lambda years, fact: getattr(years.tree, fact),
    "belief": lambda years, stage, season: years.belief.of(stage, season, years.rules.taxon.pace),
    "was": lambda years, field, key: _held(getattr(years.previous, field), key),
    "made on": lambda years: years.previous.made_on,
    "noted": lambda years, field, key: _held(getattr(years.history, field), key),
    "all noted": lambda years, field: _whole(getattr(years.history, field)),
}


def shared_by_answers(name: Hashable, years: TreeYears, kept: Kept[Question], make: Callable[[TreeYears], Made]) -> Made:
    """What `make` makes of a tree's years, or made of others that answer the same.

    `name` says what is made. `make` may ask the years handed to it and take days; it changes nothing else.
    """
    found = kept.find(name, lambda question: ANSWERS[question[0]](years, *question[1:]))
    if found is None:
        witness = Witness(years)
        made = make(cast(TreeYears, witness))
        kept.keep(name, witness.asked.items(), (made, tuple(witness.taken)))
        return made
    made, taken = cast(tuple[Made, tuple[int, ...]], found.made)
    for column in taken:
        years.take(column)
    return made


class Witness:
    """The years of one tree as those ask for them who work something out; every answer is noted."""

    def __init__(self, years: TreeYears) -> None:
        self._years = years
        self.asked: dict[Question, Hashable] = {}
        self.taken: list[int] = []
        # The same for all trees of a taxon in one plan.
        self.rules, self.frame, self.shared, self.curve = years.rules, years.frame, years.shared, years.curve
        self.history = _Fields(self, "noted", years.history)
        self.previous = _Previous(self)
        self.tree = _Tree(self)
        self.belief = _Belief(self)
        self.load = _Load(self)
        self.outcomes = _Lookups(self, ("outcome",), years.outcomes)
        self.facts = _Lookups(self, ("season fact",), years.facts)
        self.laid = _Lookups(self, ("laid",), years.laid)

    def note(self, *question: Any) -> TreeYears:
        """Write down a question with its answer; returns the years that are asked."""
        if question not in self.asked:
            self.asked[question] = ANSWERS[question[0]](self._years, *question[1:])
        return self._years

    def take(self, column: int) -> None:
        """A day is taken."""
        self.taken.append(column)
        self._years.take(column)

    # What may be asked, as in `TreeYears`.

    @property
    def home(self) -> Any:
        return self.note("home").home

    def stage(self, id: str, step: int) -> Any:
        return self.note("stage", id, step).stage(id, step)

    def pace_of(self, stage: str, step: int) -> Any:
        return self.note("pace", stage, step).pace_of(stage, step)

    def weather(self, step: int) -> Any:
        return self.note("weather", step).weather(step)

    def work(self, id: str, step: int) -> Any:
        return self.note("outcome", (id, step)).work(id, step)

    def last_cut(self, step: int) -> Any:
        return self.note("last cut", step).last_cut(step)

    def sign(self, id: str, step: int) -> Any:
        self.note("tree", "acquired")
        return self.note("noted", "signs", (id, self.frame.season + step)).sign(id, step)

    def noted_work(self, id: str, step: int) -> Any:
        return self.note("noted", "works", (id, self.frame.season + step)).noted_work(id, step)

    def opened(self, step: int) -> Any:
        return self.note("noted", "opened", self.frame.season + step).opened(step)

    def frost_limit_c(self, step: int) -> float:
        return self.note("frost limit", step).frost_limit_c(step)

    def effects_in(self, step: int) -> Any:
        return self.note("effects", step).effects_in(step)

    def into_shelter(self, step: int) -> Any:
        return self.note("into shelter", step).into_shelter(step)

    def all_facts(self, step: int) -> Any:
        return _Lookups(self, ("fact", step), self._years.all_facts(step))

    def bench_at(self, day: int) -> str:
        return self.note("bench", day).bench_at(day)

    def given(self, rule: str, season: int) -> Any:
        return self.note("given", rule, season).given(rule, season)

    def published(self, rule: str, season: int) -> Any:
        return self.note("published", rule, season).published(rule, season)


class _Lookups:
    """A mapping or a set that is asked for one thing at a time."""

    def __init__(self, witness: Witness, question: Question, held: Any) -> None:
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
        self._witness.note("all noted", self._question[1])
        return self._held.items()


class _Fields:
    """The fields of a tree's notes."""

    def __init__(self, witness: Witness, kind: str, held: Any) -> None:
        self._witness, self._kind, self._held = witness, kind, held

    def __getattr__(self, field: str) -> Any:
        value = getattr(self._held, field)
        if isinstance(value, Mapping | frozenset):
            return _AllOrOne(self._witness, (self._kind, field), value)
        self._witness.note("all noted", field)
        return value


class _Previous:
    """What was published."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness
        held = witness._years.previous
        self.tasks = _Lookups(witness, ("was", "tasks"), held.tasks)
        self.stages = _Lookups(witness, ("was", "stages"), held.stages)

    @property
    def made_on(self) -> int:
        return self._witness.note("made on").previous.made_on


class _Tree:
    """The facts of a tree, and what follows from them."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def __getattr__(self, name: str) -> Any:
        if name in TreeFacts.__dataclass_fields__:
            return getattr(self._witness.note("tree", name).tree, name)
        return getattr(TreeFacts, name).__get__(self)


class _Belief:
    """What is believed of a tree's pace."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def of(self, stage: str, season: int, pace: Any) -> tuple[float, float]:
        return self._witness.note("belief", stage, season).belief.of(stage, season, pace)


class _Load:
    """What a tree has on its days, looked at a span at a time."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def __getitem__(self, span: slice) -> Any:
        return self._witness.note("load", span.start, span.stop).load[span]


def _told(outcome: Any) -> Hashable:
    return None if outcome is None else outcome.told


def _held(held: Any, key: Any) -> Hashable:
    return key in held if isinstance(held, frozenset) else held.get(key)


def _whole(held: Any) -> Hashable:
    return tuple(held.items()) if isinstance(held, Mapping) else held
