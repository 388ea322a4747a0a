"""A resolved tree -> the drafts of its works: those to come, those done not long ago, and why the rest
has no day."""

from collections.abc import Iterator
from dataclasses import replace
from weakref import ref

import numpy as np

from care_planner.rulebook.rule import Rule, WithinRisk
from care_planner.tasks.chain import reasons
from care_planner.tasks.fate import Fate
from care_planner.tasks.lasting import lasting_days, lasts
from care_planner.tasks.links import DayChosen, DoneOn
from care_planner.tasks.looks import looks
from care_planner.tasks.model import Task, Window
from care_planner.tasks.moved import move_of_work
from care_planner.tasks.risk_reasons import with_limit
from care_planner.years.common import WeatherBehind
from care_planner.years.eligible import not_before
from care_planner.years.move import Move
from care_planner.years.outcome import Outcome
from care_planner.years.place import chance
from care_planner.years.previous import work_part
from care_planner.years.state import TreeYears
from care_planner.years.witness import shared_by_answers

# Under this chance a day is not honest where a note could settle it.
FIRM_CHANCE = 0.8
# Done work stays in the calendar, marked done, for so many days.
DONE_SHOWN_DAYS = 30
# Minutes of each further plant of a tray, as a part of the first one's: starting value.
ONE_MORE_OF_A_TRAY = 0.2
ONE_MORE_IN_A_GLANCE = 0.02


def drafts(years: TreeYears, weather: WeatherBehind) -> list[Task]:
    """Works and looks from today to the end of the plan."""
    works = [
        draft
        for outcome in years.outcomes.values()
        if outcome.state == "planned" and outcome.step > -2
        for draft in _shared_works(outcome, years, weather)
    ]
    return works + list(looks(works, years, weather))


def _shared_works(outcome: Outcome, years: TreeYears, weather: WeatherBehind) -> list[Task]:
    """The works of an outcome, or those of another tree that has the very same outcome."""
    # What an outcome keeps must not keep the outcome.
    found = shared_by_answers(
        ref(outcome), years, outcome.words, lambda seen: list(_works(outcome, seen, weather))
    )
    if outcome.sees is None:
        return found
    return [replace(draft, reasons=with_limit(draft.reasons, outcome, years)) for draft in found]


def done_drafts(years: TreeYears) -> list[Task]:
    """Work noted as done in the last `DONE_SHOWN_DAYS`, on the days it was done."""
    first = years.shared.today - DONE_SHOWN_DAYS
    return [
        _done(years.rules.rules[id], season, number, day, years)
        for (id, season), days in years.history.works.items()
        for number, day in enumerate(days, start=1)
        if first <= day <= years.shared.today and _shown_when_done(years.rules.rules[id])
    ]


def _shown_when_done(rule: Rule) -> bool:
    """Routine is not held up as done: the next time of it stands there already."""
    return rule.way == "work" and not lasts(rule)


def not_planned(years: TreeYears) -> dict[tuple[str, int], Fate]:
    """Why a rule has no day in a season of the plan: its state and the reason."""
    return {
        (id, years.frame.season + step): Fate(outcome.state, outcome.reason)
        for (id, step), outcome in years.outcomes.items()
        if step in (-1, 0, 1) and outcome.state != "planned"
    }


def _works(outcome: Outcome, years: TreeYears, weather: WeatherBehind) -> Iterator[Task]:
    rule, season = outcome.rule, years.frame.season + outcome.step
    shown = _shown_window(outcome)
    why = reasons(outcome, years, weather)
    title = outcome.choice.title if outcome.choice is not None and outcome.choice.title else rule.title
    assert outcome.aimed is not None
    for occurrence, day, until in _days_told(outcome, years):
        if not _in_span(day, until, years):
            continue
        right = round(chance(outcome, day), 2)
        window = _around(shown, day) if isinstance(rule.choose, WithinRisk) else shown
        yield Task(
            taxon=years.rules.id,
            rule=rule.id,
            season=season,
            occurrence=occurrence,
            kind="work",
            title=title,
            day=day,
            window=window,
            chance=right,
            together=rule.together or "",
            way=rule.way,
            loss=rule.loss,
            until=until,
            minutes=minutes_of(rule, years, season, occurrence == outcome.days[0][0]),
            cautions=tuple(rule.cautions),
            reasons=(DayChosen(day, outcome.aimed), *why),
            firm=right >= FIRM_CHANCE or not _a_look_settles(rule, outcome, years),
            bench=years.bench_at(day),
            category=rule.kind,
            what=_what(outcome, years),
            move=_move(outcome, occurrence, day, window, years),
        )


def _days_told(outcome: Outcome, years: TreeYears) -> Iterator[tuple[int, int, int | None]]:
    """(occurrence, day, last day) of each time it is told: once where it lasts."""
    if not lasts(outcome.rule):
        yield from ((occurrence, day, None) for occurrence, day in outcome.days)
        return
    season = years.frame.season + outcome.step
    before = years.previous.tasks.get(work_part(outcome.rule.id, season, 1))
    rule, step = outcome.rule, outcome.step
    after = -np.inf if _freezes_in_shelter(rule, years) else not_before(rule, step, years)
    yield (1, *lasting_days(outcome, before, years.shared.today, years.shared.workdays, after))


def _freezes_in_shelter(rule: Rule, years: TreeYears) -> bool:
    """Whether what a watch is kept for, cold nights, comes in the tree's winter place too."""
    limits = [part.last_night.at_most_c for part in rule.closes.walk() if part.last_night is not None]
    place = years.tree.winter_bench
    if not limits or place is None or isinstance(limits[0], str):
        return False
    return float(np.nanmin(years.shared.benches[place].daily("min"))) < float(limits[0])


def _move(outcome: Outcome, occurrence: int, day: int, window: Window, years: TreeYears) -> Move | None:
    if lasts(outcome.rule):
        return None
    part = work_part(outcome.rule.id, years.frame.season + outcome.step, occurrence)
    return move_of_work(part, day, outcome, window, years)


def _done(rule: Rule, season: int, number: int, day: int, years: TreeYears) -> Task:
    return Task(
        taxon=years.rules.id,
        rule=rule.id,
        season=season,
        occurrence=number,
        kind="work",
        title=rule.title,
        day=day,
        window=Window(day, day, day),
        chance=1.0,
        together=rule.together or "",
        way=rule.way,
        loss=rule.loss,
        minutes=minutes_of(rule, years, season, is_next=False),
        reasons=(DoneOn(day),),
        bench=years.bench_at(day),
        category=rule.kind,
        done=True,
    )


def _in_span(day: int, until: int | None, years: TreeYears) -> bool:
    gone = years.tree.until
    first = max(years.shared.today, years.tree.known_from or 0)
    return first <= (until or day) and day <= years.shared.until and (gone is None or day <= gone)


def minutes_of(rule: Rule, years: TreeYears, season: int, is_next: bool = True) -> int:
    """Minutes of work for a tree or for all plants of its tray: the first takes what a tree takes, and each
    more a part of that, since tools and soil are out; less in passing, where a glance takes in a tray. Where
    it `is_next`, plants on which it was done already are not counted."""
    first = getattr(rule.minutes, years.tree.size)
    more = ONE_MORE_OF_A_TRAY if rule.way == "work" else ONE_MORE_IN_A_GLANCE
    plants = years.tree.count - (plants_done(rule, years, season) if is_next else 0)
    return int(np.ceil(round(first * (1 + (max(plants, 1) - 1) * more), 6)))


def plants_done(rule: Rule, years: TreeYears, season: int) -> int:
    """On how many plants of a tray the work was done since it was last done on all."""
    if years.tree.count == 1:
        return 0
    day, plants = years.history.in_part.get((rule.id, season), (0, 0))
    return plants if day > max(years.history.works.get((rule.id, season), ()), default=0) else 0


def _what(outcome: Outcome, years: TreeYears) -> str:
    """What to do; where there is no room, what the goal makes of that comes first."""
    what = " ".join(outcome.rule.what.split())
    if outcome.choice is None:
        return what
    says = " ".join(outcome.choice.says.split())
    return f"{says[0].upper()}{says[1:]}. {what}"


def _shown_window(outcome: Outcome) -> Window:
    window = outcome.window
    assert window is not None
    middle = {"early": "opens", "ready": "opens", "late": "closes"}.get(str(outcome.rule.choose), "middle")
    opens, closes = _int(window.median("opens")), _int(window.median("closes"))
    if outcome.sees is not None and closes is None and np.isfinite(outcome.day):
        opens, closes = int(outcome.day), int(outcome.day)  # the risk comes in less than half of the years
    likely = _int(window.median(middle))
    return Window(opens, likely if likely is not None else closes, closes)


def _around(window: Window, day: int) -> Window:
    """A day set by a risk lies in the tail of the dates: the window is widened to hold it."""
    opens = min(window.opens, day) if window.opens is not None else None
    closes = max(window.closes, day) if window.closes is not None else None
    return Window(opens, window.likely, closes)


def _int(day: float) -> int | None:
    return int(day) if np.isfinite(day) else None


def _a_look_settles(rule: Rule, outcome: Outcome, years: TreeYears) -> bool:
    if rule.look is None:
        return False
    return (rule.look.stage, years.frame.season + outcome.step) not in years.history.stages
