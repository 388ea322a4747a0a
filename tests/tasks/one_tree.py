"""One tree with rules written in the test: its years, and what became of a rule in words."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from small_world import (
    PLAIN,
    notes,
    outcome,
    pack_text,
    resolved,
    rule,
    rulebook,
)

from care_planner.words.fates import why_not
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears

TODAY = "2021-01-10"
SATURDAYS = {"days": ["sat"]}


def window(first: str, last: str) -> str:
    return f"opens: {{month_day: '{first}'}}\ncloses: {{month_day: '{last}'}}\n"


def years_of(
    *rules: str,
    tree: Mapping[str, Any] | None = None,
    today: str = TODAY,
    noted: list[dict[str, Any]] | None = None,
    base: str = PLAIN,
    signs: tuple[str, ...] = (),
    **other: Any,
) -> TreeYears:
    made = rulebook(pack_text(base, *rules, signs=signs))
    taxon = {"taxon": "plain-tree" if base is PLAIN else "flowering-tree"}
    return resolved(made, {**taxon, **(tree or {})}, today=today, entries=notes(*(noted or [])), **other)


def shown(made: Outcome) -> list[str]:
    return [date.fromordinal(at).isoformat() for _, at in made.days]


def fate(years: TreeYears, id: str, step: int = 0) -> str:
    made = outcome(years, id, step)
    return f"{made.state}: {why_not(made.reason)}" if made.reason else made.state


def away(*spans: tuple[str, str]) -> dict[str, Any]:
    return {"people": {"away": [{"from": first, "to": last} for first, last in spans]}}


REPOT = rule("repot", window("03-10", "03-20") + "heavy: yes\nonly: {repot: [due]}", "roots")
PRUNE = rule("prune", window("05-01", "05-20") + "heavy: yes", "pruning")
DUE = {"last_repot": {"date": "2016-03-15"}}
SHELTER = """
closes: {first_night: {at_most_c: frost-limit}, plus_days: -1}
opens: {of: closes, plus_days: -28}
choose: {latest_within_risk: frost}
"""
