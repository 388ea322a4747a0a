"""What work against cold or heat looks out for: the limit, the bench, by when, in how many years."""

from collections.abc import Iterator
from datetime import date

from care_planner.stages.members import reached_share
from care_planner.windows.words import MONTHS, short_day
from care_planner.years.outcome import Nights, Outcome
from care_planner.years.state import TreeYears

# A month with fewer years than this is not named.
WORTH_NAMING = 0.05


def risk_words(outcome: Outcome, years: TreeYears) -> Iterator[str]:
    """Nothing where the work has no such risk."""
    if outcome.sees is not None:
        yield nights_words(outcome.sees)
    if outcome.rule.at_risk is not None:
        yield from heat_words(outcome, years)


def nights_words(sees: Nights) -> str:
    """The limit, the bench, and by when such a night comes."""
    parts = [
        f"{often} by {short_day(day)}"
        for often, day in (("one autumn in ten", sees.in_ten), ("one in two", sees.in_two))
        if day is not None
    ]
    when = ", ".join(parts) if parts else "in fewer than one autumn in ten"
    return f"Limit: {sees.limit_c:g} degC on bench {sees.bench}; {when}; sooner if the forecast says so"


def heat_words(outcome: Outcome, years: TreeYears) -> Iterator[str]:
    """In how many of the years each month has such a spell."""
    spells = [part.held for part in outcome.rule.opens.walk() if part.held is not None]
    if not spells or spells[0].of != "max" or spells[0].at_least_c is None:
        return
    frame, marks = years.frame, years.weather(outcome.step).held(spells[0])
    midwinter = date.fromordinal(frame.start_of(outcome.step))
    told = []
    for number in range(midwinter.month, midwinter.month + 12):
        year, month = midwinter.year + (number - 1) // 12, (number - 1) % 12 + 1
        start = date(year, month, 1).toordinal()
        end = date(year + month // 12, month % 12 + 1, 1).toordinal()
        starts = frame.everywhere(start - frame.first_day)
        share = reached_share(marks.first_from(frame.rows, starts, end - frame.first_day))
        if share >= WORTH_NAMING:
            told.append(f"{MONTHS[month - 1]} {share:.0%}")
    if told:
        limit = spells[0].at_least_c
        yield f"Years with {spells[0].days} days of {limit:g} degC or more: {', '.join(told)}"
