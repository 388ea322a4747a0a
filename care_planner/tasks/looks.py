"""Looks: from this day, look at the buds and note what you see; the note settles provisional work."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from care_planner.rulebook.rule import LOSSES
from care_planner.stages.members import quantile
from care_planner.tasks.chain import stage_dates
from care_planner.tasks.links import RestsOn, Settles
from care_planner.tasks.model import Task, Window
from care_planner.tasks.moved import move_of_look
from care_planner.years.choose import Wanted, choose_day
from care_planner.years.common import WeatherBehind
from care_planner.years.move import put_off
from care_planner.years.previous import PreviousTask, look_part
from care_planner.years.state import TreeYears

LOOK_MINUTES = 1
LOOK_SLACK_DAYS = 3
LOOK_AGAIN_DAYS = 4
# Where the stage has no early date, the look goes so many days before the work.
DAYS_BEFORE_WORK = 7


def looks(works: Sequence[Task], years: TreeYears, weather: WeatherBehind) -> Iterator[Task]:
    """One look for each stage and season that provisional works wait for, before the first of them."""
    waiting: defaultdict[tuple[str, int], list[Task]] = defaultdict(list)
    for work in works:
        look = years.rules.rules[work.rule].look
        if look is not None and not work.firm:
            waiting[look.stage, work.season].append(work)
    for (stage, season), served in sorted(waiting.items()):
        # The least certain work gives the look its name.
        served.sort(key=lambda work: (work.chance, work.day, work.rule, work.occurrence))
        yield _look(stage, season, served, years, weather)


def _look(stage: str, season: int, served: list[Task], years: TreeYears, weather: WeatherBehind) -> Task:
    step = season - years.frame.season
    look = years.rules.rules[served[0].rule].look
    assert look is not None
    days = years.stage(stage, step)
    before = min(work.day for work in _deciding(served))
    early = min(quantile(days, look.quantile), _first_opening(served, step, look.quantile, years))
    opens = int(early) if np.isfinite(early) else before - DAYS_BEFORE_WORK
    day = _look_day(opens, before, years.previous.tasks.get(look_part(stage, season)), years)
    middle, late = (quantile(days, share) for share in (0.5, 0.9))
    return Task(
        taxon=years.rules.id,
        rule=served[0].rule,
        season=season,
        occurrence=1,
        kind="look",
        stage=stage,
        title=f"Look: {years.rules.stages[stage].title.lower()}?",
        day=day,
        window=Window(min(opens, day), _at_least(middle, day), _at_least(late, day)),
        chance=round(float(np.mean(days[~np.isnan(days)] >= day)), 2),
        minutes=LOOK_MINUTES,
        way="walk",
        loss=min((work.loss for work in served), key=LOSSES.index),
        reasons=(
            Settles(tuple(sorted({work.rule for work in served}))),
            stage_dates(stage, step, years),
            RestsOn(weather),
        ),
        bench=years.bench_at(day),
        category="look",
        what=_asked(look.note),
        move=move_of_look(stage, step, day, years),
    )


def _deciding(served: list[Task]) -> list[Task]:
    """The works whose day a look has to come before: what a walk takes in can wait for the next one."""
    return [work for work in served if work.way == "work"] or served


def _asked(note: str) -> str:
    """What to look at, and that a note is wanted."""
    told = " ".join(note.split())
    return f"{told}{'' if told[-1:] in '.?!' else '.'} Note what you see, or not-yet."


def _first_opening(served: list[Task], step: int, share: float, years: TreeYears) -> float:
    """The early day on which work may open that does not wait for the stage: buds come off before it."""
    windows = [years.outcomes[work.rule, step].window for work in served]
    days = [quantile(window.opens, share) for window in windows if window is not None]
    return min((day for day in days if np.isfinite(day)), default=np.inf)


def _at_least(wanted: float, day: int) -> int:
    return max(int(wanted), day) if np.isfinite(wanted) else day


def _look_day(opens: int, before: int, published: PreviousTask | None, years: TreeYears) -> int:
    """A day near the first on which there may be something to see, and before the work it settles.

    A published day that is as good stands; one that passed without a note is followed by another look some
    days later, on the day of the work at the latest: not by one each day.
    """
    shared = years.shared
    again = published is not None and (published.day < shared.today or published.day == before)
    last_good = before if again else before - 1
    from_day = published.day + LOOK_AGAIN_DAYS if again and published is not None else opens
    aim = max(min(from_day, last_good), shared.today)
    first = max(aim - LOOK_SLACK_DAYS, shared.today)
    last = max(min(aim + LOOK_SLACK_DAYS, last_good), aim)
    stands = published is not None and _stands(published, first, last, last_good, shared.today)
    if published is not None and stands and not _away(published.day, years):
        return published.day
    wanted = Wanted(first, last, aim)
    day = choose_day(wanted, shared.walkdays, np.zeros_like(years.load), {})
    if day is not None:
        return day
    # Everyone is away then; on the day of the work itself somebody is there.
    wider = replace(wanted, first=shared.today, last=before)
    day = choose_day(wider, shared.walkdays, np.zeros_like(years.load), {})
    return before if day is None else day


def _stands(published: PreviousTask, first: int, last: int, last_good: int, today: int) -> bool:
    """Is it as good as a new day? A look put off since nothing was noted is not called back either."""
    return first <= published.day <= last or (put_off(published.move) and today <= published.day <= last_good)


def _away(day: int, years: TreeYears) -> bool:
    return bool(years.shared.workdays.away[day - years.shared.workdays.first_day])
