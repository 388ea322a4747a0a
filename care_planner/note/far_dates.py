"""A date far from what the published plan expects: believed only when the grower is sure. Pure."""

from collections.abc import Iterator
from datetime import date

from care_planner.journal.model import Entry
from care_planner.rulebook.pack import TaxonRules
from care_planner.spans import season_start
from care_planner.stages.noted import history_of
from care_planner.words.days import day_words
from care_planner.years.previous import PreviousTree

# So far from the middle date a stage of any year is hardly found: the 80 % span of bloom is under four weeks
# wide, and a year may differ by as much again. Starting values.
STAGE_DAYS = 60
# A work so far outside its window is more often a slip: root work in June is late, in December it is none.
WORK_DAYS = 75


def far_dates(entry: Entry, published: PreviousTree, rules: TaxonRules, south: bool) -> Iterator[str]:
    """What speaks against the day of an entry; nothing where nothing is published of the stage or work."""
    noted = history_of([entry], rules, south)
    curve = rules.taxon.bloom_curve
    opened = [(curve.since, season) for season in noted.opened] if curve is not None else []
    for stage, season in (*noted.stages, *opened):
        expected = {of: day for (id, of), day in published.stages.items() if id == stage}
        found = _shifted(expected, season, south)
        if found is not None and abs(entry.day - found) > STAGE_DAYS:
            title = rules.stages[stage].title
            yield f"'{title}' on {_iso(entry.day)} is far from {day_words(found)}, about when it is expected"
    for (id, _), until in noted.put_off.items():
        ends = [task.closes for task in published.tasks.values() if task.rule == id and task.kind == "work"]
        over = max((day for day in ends if day is not None and day >= entry.day), default=None)
        if over is not None and until > over:
            yield f"the time of '{rules.rules[id].title}' is over on {day_words(over)}, before {_iso(until)}"
    for (id, season), days in noted.works.items():
        if rules.rules[id].repeat is not None:
            continue
        spans = {
            task.season: (task.opens or task.day, task.closes or task.day)
            for task in published.tasks.values()
            if task.rule == id and task.kind == "work"
        }
        opens = _shifted({of: span[0] for of, span in spans.items()}, season, south)
        closes = _shifted({of: span[1] for of, span in spans.items()}, season, south)
        if opens is None or closes is None:
            continue
        if min(days) < opens - WORK_DAYS or min(days) > closes + WORK_DAYS:
            title = rules.rules[id].title
            span = f"{day_words(opens)} to {day_words(closes)}"
            yield f"'{title}' on {_iso(min(days))} is far from its time, {span}"


def _shifted(days: dict[int, int], season: int, south: bool) -> int | None:
    """The day published for a season, or that of the nearest season laid over it."""
    if not days:
        return None
    near = min(sorted(days), key=lambda of: abs(of - season))
    return days[near] - season_start(near, south) + season_start(season, south)


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()
