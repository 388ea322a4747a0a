"""Runs the packs' own examples through the engine, on a smooth weather made for them."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cache

import numpy as np

from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.rulebook.examples import example_words
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import Example, ExampleTree
from care_planner.stages.history import History
from care_planner.stages.noted import reaches_over_winter
from care_planner.windows.reason import FactDiffers, FactNotTold, FactsForbid, SignNotNoted
from care_planner.words.days import day_words
from care_planner.words.fates import why_not
from care_planner.years.common import shared_by_all
from care_planner.years.outcome import Outcome
from care_planner.years.profiles import tree_facts
from care_planner.years.reasons import BlockedBy, NotWith, OneHeavyWork, WaitsInVain
from care_planner.years.resolve import resolve
from care_planner.years.state import Shared, TreeYears
from care_planner.years.tree_facts import TreeFacts

SEASON = 2020
FIRST_YEAR, YEARS = 2001, 10
# Daily mean 13.0 degC on average, 11.5 degC either way, coldest on 21 January; nights 5 degC below
# and days 5 degC above the mean; the years differ by up to 1 degC. Invented, for examples only.
MEAN_C, SWING_C, COLDEST_DAY, HALF_RANGE_C = 13.0, 11.5, 21, 5.0


@dataclass(frozen=True)
class ExampleResult:
    """One example and what the engine made of it; `fault` is empty where they agree."""

    rule: str
    words: str
    fault: str


def run_examples(rules: TaxonRules) -> Iterator[ExampleResult]:
    """Every example of every rule of a taxon."""
    resolved: dict[object, TreeYears] = {}
    for rule in rules.rules.values():
        for number, example in enumerate(rule.examples, start=1):
            key = example.tree.model_dump_json()
            if key not in resolved:
                resolved[key] = _resolve(rules, example.tree)
            outcome = resolved[key].outcomes[rule.id, 0]
            yield ExampleResult(rule.id, example_words(rule, number, example), _fault(example, outcome))


def _fault(example: Example, outcome: Outcome) -> str:
    fired = outcome.state == "planned" or (outcome.state == "done" and bool(outcome.days))
    if fired != example.fires:
        said = f"{outcome.state} {why_not(outcome.reason)}".strip()
        return f"should {'' if example.fires else 'not '}fire, but is {said}"
    if example.because is not None and example.because.named not in kept_by(outcome):
        kind, id = example.because.named
        return f"should not fire because of the {kind} {id}, but: {outcome.state} {why_not(outcome.reason)}"
    if example.between is not None and fired:
        first, last = (_day(text) for text in example.between)
        last = last if last >= first else _day(example.between[1], 1)
        if not first <= outcome.days[0][1] <= last:
            return (
                f"first day is {day_words(outcome.days[0][1])}, not between {' and '.join(example.between)}"
            )
    return ""


def kept_by(outcome: Outcome) -> set[tuple[str, str]]:
    """(kind, id) of all that keeps a work from having a day: facts, signs, works, and its state."""
    reason = outcome.reason
    found: set[tuple[str, str]] = {("state", outcome.state)}
    if isinstance(reason, FactDiffers | FactNotTold):
        found.add(("fact", reason.fact))
    elif isinstance(reason, SignNotNoted):
        found |= {("sign", sign) for sign in reason.signs}
    elif isinstance(reason, FactsForbid):
        for fact, value in reason.met:
            found |= {("fact", fact)} if isinstance(value, str) else {("sign", sign) for sign in value}
    elif isinstance(reason, NotWith | OneHeavyWork):
        found.add(("work", reason.other.work))
    elif isinstance(reason, BlockedBy):
        found.add(("work", reason.work))
    elif isinstance(reason, WaitsInVain):
        found |= {("work", work) for work in reason.works}
    return found


def _day(text: str, later: int = 0) -> int:
    month, day = text.split("-")
    return date(SEASON + later, int(month), int(day)).toordinal()


def _resolve(rules: TaxonRules, tree: ExampleTree) -> TreeYears:
    history = History(
        stages={(id, SEASON): _day(at) for id, at in tree.saw.items() if id in rules.stages},
        signs={(id, SEASON): _day(at) for id, at in tree.saw.items() if id in rules.signs},
        works=_works(rules, tree),
    )
    return resolve(TreeYears(_shared(), rules, _facts(rules, tree), history))


def _works(rules: TaxonRules, tree: ExampleTree) -> dict[tuple[str, int], tuple[int, ...]]:
    works: dict[tuple[str, int], tuple[int, ...]] = {}
    for back, did in ((0, tree.did), (-1, tree.did_last_season)):
        for word, at in did.items():
            for id in rules.rules_noted_as(word):
                month = int(at.split("-")[0])
                late = reaches_over_winter(rules.rules[id]) and month < 7
                works[id, SEASON + back] = (_day(at, back + (1 if late else 0)),)
    return works


def _facts(rules: TaxonRules, tree: ExampleTree) -> TreeFacts:
    facts = tree_facts(_collection().trees[0], SEASON)
    years = rules.taxon.repot_every_years
    due = date(SEASON - max(years.young, years.established) - 1, 4, 1)
    return replace(
        facts,
        winter_bench="shed" if tree.winter_bench else None,
        goals=(tree.goal,) * 5,
        age=tree.age,
        condition=tree.condition,
        size=tree.size,
        refined=tree.refined,
        multicoloured=tree.multicoloured,
        wired=tree.wired,
        frost_limit_c=tree.frost_limit_c,
        acquired=_day(tree.acquired) if tree.acquired is not None else None,
        repot_every_years=None if tree.repot == "due" else 30.0,
        last_repot=(due if tree.repot == "due" else date(SEASON - 1, 4, 1)).toordinal(),
    )


@cache
def _collection() -> Collection:
    return Collection.model_validate(
        {
            "site": {"latitude": "36", "longitude": "0", "timezone": "UTC", "weather": "none.csv"},
            "benches": {"open": {}, "shed": {"floor_c": "2", "vent_c": "8"}},
            "trees": [{"id": "example", "taxon": "example", "bench": "open"}],
        }
    )


@cache
def _shared() -> Shared:
    """Days are tried from midwinter of the example season on, with nobody away."""
    today = date(SEASON, 1, 1).toordinal()
    return shared_by_all(_collection(), example_record(), today)[0]


@cache
def example_record() -> WeatherRecord:
    """Ten smooth years."""
    first = date(FIRST_YEAR, 1, 1).toordinal()
    days = np.arange(first, date(FIRST_YEAR + YEARS, 1, 1).toordinal())
    years = np.array([date.fromordinal(int(day)).year for day in days])
    of_year = days - np.array([date(int(year), 1, 1).toordinal() for year in years]) + 1
    shift = np.linspace(-1.0, 1.0, YEARS)[(years - FIRST_YEAR) * 3 % YEARS]
    mean = MEAN_C - SWING_C * np.cos(2 * np.pi * (of_year - COLDEST_DAY) / 365) + shift
    low, high = mean - HALF_RANGE_C, mean + HALF_RANGE_C
    return WeatherRecord(first, low, high, mean, source="the example weather")
