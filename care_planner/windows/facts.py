"""Whether a rule is for this tree in this season, and if not, which fact says so."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from care_planner.rulebook.condition import Condition

NOT_TOLD = "not-told"
MAYBE = "maybe"  # work that no note tells of, one way or the other

Facts = Mapping[str, str | frozenset[str]]
# In words, for reasons that people read.
WORDS = {
    "goal": "the goal",
    "age": "the age",
    "condition": "the condition",
    "size": "the size",
    "buds": "flower buds",
    "bloom": "bloom",
    "repot": "repot",
    "roots_worked": "roots_worked this season",
    "roots_worked_last_season": "roots_worked last season",
    "cut_last_season": "cut_last_season",
    "winter_bench": "a winter_bench",
    "refined": "refined",
    "multicoloured": "multicoloured",
    "wired": "wired",
    "new_here": "new_here",
    "noted": "noted",
}
# Where the fact and its value are no sentence.
SAID = {
    ("new_here", "yes"): "it came this season (new_here)",
    ("new_here", "no"): "it did not come this season (new_here)",
    ("repot", "due"): "repot is due",
    ("repot", "not-due"): "repot is not due",
    ("roots_worked", "yes"): "there was root work this season",
    ("roots_worked", "no"): "there was no root work this season",
    ("roots_worked_last_season", "yes"): "there was root work last season",
    ("roots_worked_last_season", "no"): "there was no root work last season",
    ("cut_last_season", "yes"): "it was cut last season",
    ("cut_last_season", "no"): "it was not cut last season",
}
# Where the fact follows from what a person writes under another name.
ASKED = {"repot": "last_repot or the age"}


@dataclass(frozen=True)
class Verdict:
    """`yes`, `no` with the reason, `ask` with the fact that somebody has to tell, or `maybe` with the fact
    that hangs on work of which no note tells; `if_done` says whether the rule is for the tree where it was
    done."""

    answer: Literal["yes", "no", "ask", "maybe"]
    reason: str = ""
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
                return Verdict("no", f"only where {' or '.join(allowed)} was noted")
        elif have == MAYBE and MAYBE not in allowed:
            if set(allowed) != {"yes", "no"}:
                ask = Verdict(
                    "maybe", f"whether {WORDS[fact].replace('_', ' ')} is not known", fact, "yes" in allowed
                )
        elif have not in allowed:
            if have != NOT_TOLD:
                wanted = " or ".join(value for value in allowed if value != NOT_TOLD)
                said = SAID.get((fact, have), f"{WORDS[fact]} is {have}; only for {wanted}")
                return Verdict("no", said)
            ask = Verdict("ask", f"{ASKED.get(fact, WORDS[fact])} is not told", fact)
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
    said = " and ".join(_met_words(fact, facts[fact], allowed) for fact, allowed in condition.given().items())
    return Verdict("no", f"not where {said}")


def _met_words(fact: str, have: str | frozenset[str], allowed: list[str]) -> str:
    if isinstance(have, frozenset):
        return f"{' or '.join(value for value in allowed if value in have)} was noted"
    return SAID.get((fact, have), f"{WORDS[fact]} is {have}")
