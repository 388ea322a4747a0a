"""Whether a rule is for a tree in a season, and what it must wait for: facts, blocks, rests, order."""

from collections.abc import Iterator

import numpy as np

from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import AnotherWork, Rule
from care_planner.windows.facts import YES, Verdict, only, unless
from care_planner.years.reasons import (
    BlockedBy,
    NotInShelter,
    NotWith,
    OneHeavyWork,
    OtherWork,
    WaitsForAnswer,
)
from care_planner.years.state import TreeYears

# What would harm a tree whose roots may have been worked.
HARD_ON_ROOTS = ("roots", "pruning", "wire")


def for_this_tree(rule: Rule, step: int, years: TreeYears) -> Verdict:
    """Whether the facts, the blocks and the other works of the season allow the rule."""
    facts = years.all_facts(step)
    ask = YES
    for verdict in (only(rule.only, facts), *_blocks(rule, step, years)):
        if verdict.answer == "no":
            return verdict
        if verdict.answer != "yes" and (ask.answer == "yes" or verdict.answer == "ask"):
            ask = verdict
    return ask


def is_harmful(rule: Rule) -> bool:
    """Whether the work cannot be taken back, so that it must not rest on other work that nobody noted."""
    return rule.heavy or rule.irreversible or rule.asks is not None


def must_wait(rule: Rule, verdict: Verdict) -> bool:
    """Whether a rule waits for the answer that a verdict of `maybe` hangs on."""
    roots = verdict.fact == "roots_worked"
    return is_harmful(rule) or (roots and rule.kind in HARD_ON_ROOTS)


def provided(rule: Rule, step: int, years: TreeYears) -> tuple[tuple[str, bool], ...]:
    """The works of which no note tells that the rule rests on: (id, True where it is right only if they were
    done, False where only if they were not)."""
    found: dict[str, bool] = {}
    facts = years.all_facts(step)
    for moment in (rule.opens, rule.closes):
        for part in moment.walk():
            if part.work is not None and _is_open(part.work, step + SEASON_STEP[part.season], years):
                found.setdefault(part.work, True)
    if rule.moves("bench"):
        found |= {other.rule.id: True for other in years.into_shelter(step - 1) if other.is_open}
    for block in rule.unless:
        if isinstance(block, AnotherWork):
            for id in block.work:
                if _is_open(id, step + SEASON_STEP[block.season], years):
                    found[id] = False
    for verdict in (only(rule.only, facts), *_conditions(rule, step, years)):
        if verdict.answer == "maybe" and verdict.fact == "roots_worked":
            for id in years.rules.root_works:
                if _is_open(id, step, years):
                    found[id] = verdict.if_done
    return tuple(sorted(found.items()))


def _is_open(id: str, step: int, years: TreeYears) -> bool:
    outcome = years.outcomes.get((id, step))
    return outcome is not None and outcome.is_open


def _conditions(rule: Rule, step: int, years: TreeYears) -> Iterator[Verdict]:
    facts = years.all_facts(step)
    for block in rule.unless:
        if not isinstance(block, AnotherWork):
            yield unless(block, facts)


def _blocks(rule: Rule, step: int, years: TreeYears) -> Iterator[Verdict]:
    facts = years.all_facts(step)
    for block in rule.unless:
        if not isinstance(block, AnotherWork):
            yield unless(block, facts)
            continue
        for id in block.work:
            other = years.outcomes.get((id, step + SEASON_STEP[block.season]))
            if other is not None and other.counts:
                yield Verdict("no", NotWith(other.as_other()))
            elif other is not None and other.is_open:
                yield Verdict("maybe", WaitsForAnswer((id,)), id, if_done=False)
    for other_rule in years.rules.blockers.get(rule.id, ()):
        if only(other_rule.only, facts).answer == "yes":
            yield Verdict("no", BlockedBy(other_rule.id, other_rule.title))
    if rule.heavy:
        yield from _one_heavy_work(rule, step, years)
    if rule.moves("bench") and not years.into_shelter(step - 1):
        yield Verdict("no", NotInShelter())


def _one_heavy_work(rule: Rule, step: int, years: TreeYears) -> Iterator[Verdict]:
    heavy = years.rules.heavy
    place = heavy.index(rule.id)
    for id in heavy[:place]:
        outcome = years.outcomes.get((id, step))
        if outcome is not None and outcome.counts:
            yield Verdict("no", OneHeavyWork(outcome.as_other()))
        elif outcome is not None and outcome.is_open:
            yield Verdict("maybe", WaitsForAnswer((id,)), id, if_done=False)
    if rule.opens.sign is not None:
        return  # what a sign calls for, such as a rescue, cannot wait for a season
    for id in heavy[place + 1 :]:
        done = years.history.works.get((id, years.frame.season + step))
        if done is not None:
            yield Verdict("no", OneHeavyWork(OtherWork(id, "done", done[0])))


def rested_until(rule: Rule, step: int, years: TreeYears) -> float:
    """The first day after every rest from earlier work, also from work that may have been done; long ago
    where there is none."""
    until = -np.inf
    for rest in rule.rests:
        for id in rest.after:
            for at in (step - 1, step):
                other = years.outcomes.get((id, at))
                if other is not None and (other.counts or other.is_open):
                    until = max(until, other.last_day + rest.days)
    return until


def put_off_until(rule: Rule, step: int, years: TreeYears, last: float) -> float:
    """The first day on which work that a note puts off may lie again, no later than its `last` one; long ago
    where no note does."""
    until = years.history.put_off.get((rule.id, years.frame.season + step))
    return -np.inf if until is None or np.isnan(last) else min(until, last)


def not_before(rule: Rule, step: int, years: TreeYears) -> float:
    """The first day on which the works that must come before have come; long ago where none is due."""
    days = [-np.inf]
    for after in rule.after:
        other = years.outcomes.get((after.work, step))
        if other is not None and other.counts:
            days.append(other.day + after.gap_days)
    return max(days)
