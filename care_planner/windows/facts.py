"""Whether a rule is for this tree in this season, and if not, which fact says so."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from care_planner.rulebook.condition import Condition
from care_planner.windows.reason import (
    FactDiffers,
    FactNotKnown,
    FactNotTold,
    FactsForbid,
    Reason,
    SignNotNoted,
)

NOT_TOLD = "not-told"
MAYBE = "maybe"  # it hangs on work of which no note tells

Facts = Mapping[str, str | frozenset[str]]


@dataclass(frozen=True)
class Verdict:
    """`yes`, `no` with the reason, `ask` with the fact that somebody has to tell, or `maybe` with the fact or
    the work of which no note tells; `if_done` says whether the rule is for the tree where it was done."""

    answer: Literal["yes", "no", "ask", "maybe"]
    reason: Reason | None = None
    fact: str = ""
    if_done: bool = True


YES = Verdict("yes")


def only(condition: Condition, facts: Facts) -> Verdict:
    """Whether every fact the condition asks for has one of its values."""
    ask = YES
    for fact, allowed in condition.given().items():
        have = facts[fact]
        if isinstance(have, frozenset):
            if not have & set(allowed):
                return Verdict("no", SignNotNoted(tuple(allowed)))
        elif have == MAYBE:
            if set(allowed) != {"yes", "no"}:
                ask = Verdict("maybe", FactNotKnown(fact), fact, "yes" in allowed)
        elif have not in allowed:
            if have != NOT_TOLD:
                wanted = tuple(value for value in allowed if value != NOT_TOLD)
                return Verdict("no", FactDiffers(fact, have, wanted))
            ask = Verdict("ask", FactNotTold(fact), fact)
    return ask


def unless(condition: Condition, facts: Facts) -> Verdict:
    """`no` where every fact the condition names has one of its values: then it blocks."""
    met = only(condition, facts)
    if met.answer == "no":
        return YES
    if met.answer == "maybe":
        return replace(met, if_done=not met.if_done)
    if met.answer == "ask":
        return met
    return Verdict("no", FactsForbid(tuple(_met(facts, *asked) for asked in condition.given().items())))


def _met(facts: Facts, fact: str, allowed: list[str]) -> tuple[str, str | tuple[str, ...]]:
    have = facts[fact]
    if isinstance(have, frozenset):
        return fact, tuple(value for value in allowed if value in have)
    return fact, have
