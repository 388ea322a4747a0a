"""Whether a rule is for a tree in a season, and what it must wait for: facts, blocks, rests, order."""

from collections.abc import Iterator

import numpy as np

from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import AnotherWork, Rule
from care_planner.windows.facts import YES, Verdict, only, unless
from care_planner.years.reasons import BlockedBy, NotInShelter, NotWith, OneHeavyWork, OtherWork
from care_planner.years.state import TreeYears


def for_this_tree(rule: Rule, step: int, years: TreeYears) -> Verdict:
    """Whether the facts, the blocks and the other works of the season allow the rule."""
    facts = years.all_facts(step)
    ask = YES
    for verdict in (only(rule.only, facts), *_blocks(rule, step, years)):
        if verdict.answer == "no":
            return verdict
        if verdict.answer == "ask":
            ask = verdict
    return ask


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
    for other_rule in years.rules.rules.values():
        if rule.id in other_rule.blocks and only(other_rule.only, facts).answer == "yes":
            yield Verdict("no", BlockedBy(other_rule.id, other_rule.title))
    if rule.heavy:
        yield from _one_heavy_work(rule, step, years)
    if any(effect.moves_to == "bench" for effect in rule.effects) and not _in_shelter(step, years):
        yield Verdict("no", NotInShelter())


def _one_heavy_work(rule: Rule, step: int, years: TreeYears) -> Iterator[Verdict]:
    heavy = [id for id, other in years.rules.rules.items() if other.heavy]
    place = heavy.index(rule.id)
    for id in heavy[:place]:
        outcome = years.outcomes.get((id, step))
        if outcome is not None and outcome.counts:
            yield Verdict("no", OneHeavyWork(outcome.as_other()))
    if rule.opens.sign is not None:
        return  # what a sign calls for, such as a rescue, cannot wait for a season
    for id in heavy[place + 1 :]:
        done = years.history.works.get((id, years.frame.season + step))
        if done is not None:
            yield Verdict("no", OneHeavyWork(OtherWork(id, "done", done[0])))


def _in_shelter(step: int, years: TreeYears) -> bool:
    return any(
        effect.moves_to == "winter-bench" and outcome.counts
        for (_, at), outcome in years.outcomes.items()
        if at == step - 1
        for effect in outcome.rule.effects
    )


def rested_until(rule: Rule, step: int, years: TreeYears) -> float:
    """The first day after every rest from earlier work; long ago where there is none."""
    until = -np.inf
    for rest in rule.rests:
        for id in rest.after:
            for at in (step - 1, step):
                other = years.outcomes.get((id, at))
                if other is not None and other.counts:
                    until = max(until, other.last_day + rest.days)
    return until


def not_before(rule: Rule, step: int, years: TreeYears) -> float:
    """The first day on which the works that must come before have come; long ago where none is due."""
    days = [-np.inf]
    for after in rule.after:
        other = years.outcomes.get((after.work, step))
        if other is not None and other.counts:
            days.append(other.day + after.gap_days)
    return max(days)
