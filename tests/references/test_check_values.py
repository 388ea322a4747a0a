"""What the packs say is known of places: held against the plan of an ordinary tree there."""

from dataclasses import replace
from datetime import date
from functools import cache

import pytest
from test_bloom import PLACES, record

from care_planner.collection.model import Collection
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.rulebook.taxon import CheckValue

SEASON = 2027
RULEBOOK, _ = read_rulebook()
VALUES = [
    (taxon, value)
    for taxon, rules in sorted(RULEBOOK.taxa.items())
    for value in rules.taxon.check_values
    if value.place in PLACES
]


@cache
def planned(taxon: str, place: str, size: str) -> Plan:
    site = {"latitude": PLACES[place][1], "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"}
    tree = {"id": "s", "taxon": taxon, "bench": "open", "age": "established", "condition": "strong"}
    told = {"size": size, "refined": "yes", "multicoloured": "yes", "last_repot": {"date": "2026-03-20"}}
    trees = Collection.model_validate({"site": site, "benches": {"open": {}}, "trees": [{**tree, **told}]})
    return make_plan(trees, [], record(place), RULEBOOK, date(SEASON, 1, 2).toordinal())


def days(value: CheckValue, plan: Plan) -> list[int]:
    """The median day of a stage, or the days of a work."""
    if value.stage is not None:
        return [
            r.p50 for r in plan.stages if (r.stage, r.season) == (value.stage, SEASON) and r.p50 is not None
        ]
    return [
        task.day for task in plan.tasks if (task.rule, task.season, task.kind) == (value.work, SEASON, "work")
    ]


def fault(value: CheckValue, plan: Plan) -> str:
    """What stands against a value; empty where it holds."""
    found = [date.fromordinal(day) for day in days(value, plan)]
    if not value.comes or not found:
        return "" if bool(found) == value.comes else f"{[day.isoformat() for day in found]}"
    first, last = (date.fromisoformat(f"{found[0].year}-{text}") for text in (value.first, value.last))
    return "" if first <= found[0] <= last else found[0].isoformat()


@pytest.mark.parametrize(("taxon", "value"), VALUES, ids=lambda part: getattr(part, "place", part))
def test_a_pack_meets_what_it_says_is_known(taxon: str, value: CheckValue) -> None:
    assert fault(value, planned(taxon, value.place, value.size)) == "", (taxon, value)


def test_every_pack_of_a_taxon_says_what_is_known() -> None:
    assert [taxon for taxon, rules in RULEBOOK.taxa.items() if not rules.taxon.check_values] == []
    assert len(VALUES) >= 5


def test_a_value_that_does_not_hold_is_seen() -> None:
    taxon, value = next((taxon, value) for taxon, value in VALUES if value.comes)
    plan = planned(taxon, value.place, value.size)
    assert fault(value.model_copy(update={"first": "12-30", "last": "12-31"}), plan)
    assert fault(value.model_copy(update={"comes": False}), plan)
    assert fault(value, replace(plan, stages=[], tasks=[]))
