"""A witness stands for a tree's years while something is worked out, and notes what is asked of them.

`shared_by_answers` is the way in: what another tree with the same answers had is handed out again.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import fields
from typing import Any, TypeVar, cast

from care_planner.rulebook.pack import Node
from care_planner.stages.moments import NightLimit
from care_planner.years.kept import Ask, Kept, Made, Question
from care_planner.years.state import TreeYears
from care_planner.years.tree_facts import TreeFacts

Result = TypeVar("Result")


def shared_by_answers(
    name: Hashable, years: TreeYears, kept: Kept[TreeYears], make: Callable[[TreeYears], Result]
) -> Result:
    """What `make` makes of a tree's years, or made of others that answer the same.

    `name` says what is made. `make` may ask the years handed to it and take days; it changes nothing else.
    """
    found = _as_before(name, years)
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


# Most trees are like the one before them in nearly everything. So what is answered otherwise is followed from
# stage to work to stage, and where nothing of it was asked, what was made for that tree holds without asking.


def stand_beside(years: TreeYears) -> None:
    """Compare a tree, before it is resolved, with the last one of its kind."""
    tree, kept = years.tree, years.shared.kept
    place = years.rules.id, years.variety, tree.bench, tree.winter_bench
    kind = (*place, tree.goals, tree.age, tree.condition, tree.size)
    years.before = before = kept.latest.get(kind)
    kept.latest[kind] = years
    if before is None:
        return
    before.before = None  # or every tree would hold all those before it
    years.differs.update(_told_otherwise(years, before))


def _told_otherwise(years: TreeYears, before: TreeYears) -> Iterator[Question]:
    """The questions of what was told of two trees that they answer differently."""
    for ask in (_tree, _made_on, *((_belief, _pace) if years.belief != before.belief else ())):
        asked = years.shared.kept.asked[ask]
        yield from ((ask, one) for one in asked if ask(years, *one) != ask(before, *one))
    for field in fields(years.history):
        yield from _in_one_only(_noted, field.name, years.history, before.history)
    if years.previous is not before.previous:
        yield from _in_one_only(_was, "tasks", years.previous, before.previous)
        yield from _in_one_only(_was, "stages", years.previous, before.previous)
        works, others = years.previous.works, before.previous.works
        yield from ((_published, key) for key in {*works, *others} if works.get(key) != others.get(key))
    yield from ((_laid, (part,)) for part, _ in years.laid.items() ^ before.laid.items())


def _in_one_only(ask: Ask, field: str, one: object, other: object) -> Iterator[Question]:
    """Questions of the keys of a field that two do not have in common."""
    held, others = getattr(one, field), getattr(other, field)
    if held == others:
        return
    if isinstance(held, Mapping):
        yield from ((ask, (field, key)) for key in {key for key, _ in held.items() ^ others.items()})
    elif isinstance(held, frozenset):
        yield from ((ask, (field, key)) for key in held ^ others)
    if ask is _noted:
        yield _all_noted, (field,)


def compare(name: Hashable, node: Node, years: TreeYears) -> None:
    """Note whether what became of a node is another thing than for the tree before.

    `name` is that under which it was shared.
    """
    before = years.before
    if before is None or (name in years.made and years.made[name] is before.made.get(name)):
        return
    ask, *about = _question(node)
    if ask(years, *about) != ask(before, *about):
        years.differs.add((ask, tuple(about)))


def _as_before(name: Hashable, years: TreeYears) -> Made | None:
    """What was made for the tree before, where this one would answer the same."""
    before = years.before
    made = before.made.get(name) if before is not None else None
    if made is None or not made.plain.isdisjoint(years.differs):
        return None
    for (ask, about), said in made.other:
        if ask(years, *about) != said:
            return None
    return made


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
        self.outcomes = _Lookups(self, (_outcome,), years.outcomes)
        self.facts = _Lookups(self, (_season_fact,), years.facts)
        self.laid = _Lookups(self, (_laid,), years.laid)

    def note(self, ask: Callable[..., Hashable], *about: Any) -> TreeYears:
        """Write down a question with its answer; returns the years that are asked."""
        if (ask, about) not in self.asked:
            self.asked[ask, about] = ask(self._years, *about)
        return self._years

    def made(self, result: object) -> Made:
        """A result with what was asked for it."""
        plain = frozenset(one for one in self.asked if one[0] in _FOLLOWED)
        other = tuple((one, said) for one, said in self.asked.items() if one not in plain)
        return Made(result, tuple(self.taken), plain, other)

    def take(self, column: int) -> None:
        """A day is taken."""
        self.taken.append(column)
        self._years.take(column)

    # What may be asked, as in `TreeYears`.

    @property
    def home(self) -> Any:
        return self.note(_home).home

    def stage(self, id: str, step: int) -> Any:
        return self.note(_stage, id, step).stage(id, step)

    def pace_of(self, stage: str, step: int) -> Any:
        return self.note(_pace, stage, step).pace_of(stage, step)

    def weather(self, step: int) -> Any:
        return self.note(_weather, step).weather(step)

    def work(self, id: str, step: int) -> Any:
        return self.note(_outcome, (id, step)).work(id, step)

    def last_cut(self, step: int) -> Any:
        return self.note(_last_cut, step).last_cut(step)

    def sign(self, id: str, step: int) -> Any:
        self.note(_tree, "acquired")
        return self.note(_noted, "signs", (id, self.frame.season + step)).sign(id, step)

    def noted_work(self, id: str, step: int) -> Any:
        return self.note(_noted, "works", (id, self.frame.season + step)).noted_work(id, step)

    def opened(self, step: int) -> Any:
        return self.note(_noted, "opened", self.frame.season + step).opened(step)

    def first_night(self, at_most_c: Any, step: int) -> Any:
        return self.note(_first_night, at_most_c, step).first_night(at_most_c, step)

    def last_night(self, at_most_c: Any, step: int) -> Any:
        return self.note(_last_night, at_most_c, step).last_night(at_most_c, step)

    def night_limit_c(self, at_most_c: Any, step: int) -> float:
        return self.note(_night_limit, at_most_c, step).night_limit_c(at_most_c, step)

    def effects_on_stages(self, step: int) -> Any:
        return self.note(_effects_on_stages, step).effects_on_stages(step)

    def into_shelter(self, step: int) -> Any:
        return self.note(_into_shelter, step).into_shelter(step)

    def all_facts(self, step: int) -> Any:
        return _Lookups(self, (_fact, step), self._years.all_facts(step))

    def bench_at(self, day: int) -> str:
        return self.note(_bench, day).bench_at(day)

    def given(self, rule: str, season: int) -> Any:
        return self.note(_given, rule, season).given(rule, season)

    def published(self, rule: str, season: int) -> Any:
        return self.note(_published, rule, season).published(rule, season)


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
        self._witness.note(_all_noted, self._question[1])
        return self._held.items()


class _Fields:
    """The fields of a tree's notes."""

    def __init__(self, witness: Witness, held: Any) -> None:
        self._witness, self._held = witness, held

    def __getattr__(self, field: str) -> Any:
        value = getattr(self._held, field)
        if isinstance(value, Mapping | frozenset):
            return _AllOrOne(self._witness, (_noted, field), value)
        self._witness.note(_all_noted, field)
        return value


class _Previous:
    """What was published."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness
        held = witness._years.previous
        self.tasks = _Lookups(witness, (_was, "tasks"), held.tasks)
        self.stages = _Lookups(witness, (_was, "stages"), held.stages)

    @property
    def made_on(self) -> int:
        return self._witness.note(_made_on).previous.made_on


class _Tree:
    """The facts of a tree, and what follows from them."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def __getattr__(self, name: str) -> Any:
        if name in TreeFacts.__dataclass_fields__:
            return getattr(self._witness.note(_tree, name).tree, name)
        return getattr(TreeFacts, name).__get__(self)


class _Belief:
    """What is believed of a tree's pace."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def of(self, stage: str, season: int, pace: Any) -> tuple[float, float]:
        return self._witness.note(_belief, stage, season).belief.of(stage, season, pace)


class _Load:
    """What a tree has on its days, looked at a span at a time."""

    def __init__(self, witness: Witness) -> None:
        self._witness = witness

    def __getitem__(self, span: slice) -> Any:
        return self._witness.note(_load, span.start, span.stop).load[span]


# What may be asked. Each answer is something that two trees have in common or not.


def _stage(years: TreeYears, id: str, step: int) -> Hashable:
    return years.mark_of(id, step)


def _pace(years: TreeYears, stage: str, step: int) -> Hashable:
    return years.pace_mark(stage, step)


def _weather(years: TreeYears, step: int) -> Hashable:
    return years.way_of(step)


def _outcome(years: TreeYears, key: tuple[str, int]) -> Hashable:
    outcome = years.outcomes.get(key)
    return None if outcome is None else outcome.told


def _fact(years: TreeYears, step: int, fact: str) -> Hashable:
    return years.all_facts(step)[fact]


def _season_fact(years: TreeYears, key: tuple[str, int]) -> Hashable:
    return years.facts.get(key)


def _last_cut(years: TreeYears, step: int) -> Hashable:
    return years.last_cut_day(step)


def _effects_on_stages(years: TreeYears, step: int) -> Hashable:
    return tuple((outcome.told, id(effect)) for outcome, effect in years.effects_on_stages(step))


def _into_shelter(years: TreeYears, step: int) -> Hashable:
    return tuple(outcome.told for outcome in years.into_shelter(step))


def _home(years: TreeYears) -> Hashable:
    return years.shared.feels_as[years.tree.bench]


def _night_limit(years: TreeYears, at_most_c: NightLimit, step: int) -> Hashable:
    return years.night_limit_c(at_most_c, step)


def _first_night(years: TreeYears, at_most_c: NightLimit, step: int) -> Hashable:
    return years.first_night_mark(at_most_c, step)


def _last_night(years: TreeYears, at_most_c: NightLimit, step: int) -> Hashable:
    return years.last_night_mark(at_most_c, step)


def _bench(years: TreeYears, day: int) -> Hashable:
    return years.bench_at(day)


def _given(years: TreeYears, rule: str, season: int) -> Hashable:
    return years.given(rule, season)


def _published(years: TreeYears, rule: str, season: int) -> Hashable:
    return tuple(sorted(years.published(rule, season).items()))


def _load(years: TreeYears, first: int, end: int) -> Hashable:
    return years.load[first:end].tobytes()


def _laid(years: TreeYears, part: str) -> Hashable:
    return years.laid.get(part)


def _tree(years: TreeYears, fact: str) -> Hashable:
    held: Hashable = getattr(years.tree, fact)
    return held


def _belief(years: TreeYears, stage: str, season: int) -> Hashable:
    return years.belief.of(stage, season, years.rules.taxon.pace)


def _was(years: TreeYears, field: str, key: Any) -> Hashable:
    return _in(getattr(years.previous, field), key)


def _made_on(years: TreeYears) -> Hashable:
    return years.previous.made_on


def _noted(years: TreeYears, field: str, key: Any) -> Hashable:
    return _in(getattr(years.history, field), key)


def _all_noted(years: TreeYears, field: str) -> Hashable:
    held: Hashable = getattr(years.history, field)
    return tuple(held.items()) if isinstance(held, Mapping) else held


def _in(held: Any, key: Any) -> Hashable:
    return key in held if isinstance(held, frozenset) else held.get(key)


# Questions whose answers are followed from tree to tree: of what was told, and of a stage, a work or a fact.
_TOLD = _tree, _noted, _all_noted, _was, _made_on, _published, _laid, _belief, _pace
_FOLLOWED = frozenset({*_TOLD, _stage, _outcome, _season_fact})


def _question(node: Node) -> tuple[Any, ...]:
    """What is asked of a stage, a work or a fact."""
    if node.kind == "stage":
        return _stage, node.id, node.step
    return (_outcome if node.kind == "rule" else _season_fact), (node.id, node.step)
