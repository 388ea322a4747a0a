"""A resolved tree -> its tasks and stage rows, without the tree's name, so that twins share them."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

import numpy as np

from care_planner.rulebook.rule import Rule
from care_planner.rulebook.taxon import Stage
from care_planner.spans import NEVER
from care_planner.stages.members import TOO_FEW_YEARS, known_years, quantile, reached_share
from care_planner.tasks.choose import Wanted, choose_day
from care_planner.tasks.model import Task, Window
from care_planner.tasks.moved import look_moved_words, moved_words
from care_planner.tasks.outcome import Outcome
from care_planner.tasks.previous import look_part, work_part
from care_planner.tasks.reasons import reasons, stage_words
from care_planner.tasks.resolve import TreeYears
from care_planner.tasks.work import chance
from care_planner.windows.words import weekday_words

# Under this chance a day is not honest where a note could settle it.
FIRM_CHANCE = 0.8
LOOK_MINUTES = 1
LOOK_SLACK_DAYS = 3
# Done work stays in the calendar, marked done, for so many days.
DONE_SHOWN_DAYS = 30


@dataclass(frozen=True, slots=True)
class Draft:
    """A task but for its tree. `part` follows the tree's id in the task's key."""

    rule: str
    season: int
    occurrence: int
    kind: Literal["work", "look"]
    part: str
    title: str
    day: int
    window: Window
    chance: float
    minutes: int
    cautions: tuple[str, ...]
    why: tuple[str, ...]
    firm: bool
    bench: str
    category: str
    what: str
    moved: str = ""
    done: bool = False

    def task(self, tree: str, taxon: str) -> Task:
        """The task of one tree."""
        return Task(
            tree,
            self.rule,
            self.season,
            self.occurrence,
            self.kind,
            f"{tree}/{self.part}",
            self.title,
            self.day,
            self.window,
            self.chance,
            self.minutes,
            self.cautions,
            self.why,
            self.firm,
            self.bench,
            taxon,
            self.category,
            self.what,
            self.moved,
            self.done,
        )


def drafts(years: TreeYears, weather: str) -> list[Draft]:
    """Works and looks from today to the end of the plan."""
    benches = years.moves(3)
    works = [
        draft
        for outcome in years.outcomes.values()
        if outcome.state == "planned" and outcome.step > -2
        for draft in _works(outcome, years, weather, benches)
    ]
    return works + list(_looks(works, years, weather, benches))


def done_drafts(years: TreeYears) -> list[Draft]:
    """Work noted as done in the last `DONE_SHOWN_DAYS`, on the days it was done."""
    first = years.shared.today - DONE_SHOWN_DAYS
    benches = years.moves(3)
    found = []
    for (id, season), days in years.history.works.items():
        rule = years.rules.rules[id]
        for number, day in enumerate(days, start=1):
            if not first <= day <= years.shared.today:
                continue
            found.append(
                Draft(
                    id,
                    season,
                    number,
                    "work",
                    work_part(id, season, number),
                    rule.title,
                    day,
                    Window(day, day, day),
                    1.0,
                    getattr(rule.minutes, years.tree.size),
                    (),
                    (f"Noted as done on {weekday_words(day)}",),
                    True,
                    _bench_on(day, years, benches),
                    rule.kind,
                    "",
                    done=True,
                )
            )
    return found


def not_planned(years: TreeYears) -> dict[tuple[str, int], str]:
    """Why a rule has no day in a season of the plan: its state and the reason, in words."""
    return {
        (id, years.frame.season + step): f"{outcome.state}: {outcome.reason}"
        for (id, step), outcome in years.outcomes.items()
        if step in (-1, 0, 1) and outcome.state != "planned"
    }


def _in_span(day: int, years: TreeYears) -> bool:
    gone = years.tree.until
    return years.shared.today <= day <= years.shared.until and (gone is None or day <= gone)


def _bench_on(day: int, years: TreeYears, moves: list[tuple[int, str]]) -> str:
    before = [bench for at, bench in moves if at <= day]
    return before[-1] if before else years.tree.bench


def _works(
    outcome: Outcome, years: TreeYears, weather: str, benches: list[tuple[int, str]]
) -> Iterator[Draft]:
    rule, season = outcome.rule, years.frame.season + outcome.step
    shown = _shown_window(outcome)
    why = reasons(outcome, years, weather)
    title = outcome.choice.title if outcome.choice is not None and outcome.choice.title else rule.title
    for occurrence, day in outcome.days:
        if not _in_span(day, years):
            continue
        right = round(chance(outcome, day), 2)
        part = work_part(rule.id, season, occurrence)
        window = _around(shown, day) if outcome.rule.choose not in ("early", "mid", "late") else shown
        yield Draft(
            rule.id,
            season,
            occurrence,
            "work",
            part,
            title,
            day,
            window,
            right,
            getattr(rule.minutes, years.tree.size),
            tuple(rule.cautions),
            (f"{weekday_words(day)}: {outcome.aimed}", *why),
            not _settled_by_a_look(rule, outcome, years) or right >= FIRM_CHANCE,
            _bench_on(day, years, benches),
            rule.kind,
            _what(outcome),
            moved_words(part, day, outcome, window, years),
        )


def _what(outcome: Outcome) -> str:
    """What to do; where there is no room, what the goal makes of that comes first."""
    what = " ".join(outcome.rule.what.split())
    if outcome.choice is None:
        return what
    says = " ".join(outcome.choice.says.split())
    return f"{says[0].upper()}{says[1:]}. {what}"


def _shown_window(outcome: Outcome) -> Window:
    window = outcome.window
    assert window is not None
    middle = {"early": "opens", "late": "closes"}.get(str(outcome.rule.choose), "middle")
    return Window(_int(window.median("opens")), _int(window.median(middle)), _int(window.median("closes")))


def _around(window: Window, day: int) -> Window:
    """A day set by a risk lies in the tail of the dates: the window is widened to hold it."""
    opens = min(window.opens, day) if window.opens is not None else None
    closes = max(window.closes, day) if window.closes is not None else None
    return Window(opens, window.likely, closes)


def _int(day: float) -> int | None:
    return int(day) if np.isfinite(day) else None


def _settled_by_a_look(rule: Rule, outcome: Outcome, years: TreeYears) -> bool:
    if rule.look is None:
        return False
    return (rule.look.stage, years.frame.season + outcome.step) not in years.history.stages


def _looks(
    works: list[Draft], years: TreeYears, weather: str, benches: list[tuple[int, str]]
) -> Iterator[Draft]:
    """One look for each stage and season that provisional works wait for, before the first of them."""
    waiting: defaultdict[tuple[str, int], list[Draft]] = defaultdict(list)
    for work in works:
        look = years.rules.rules[work.rule].look
        if look is not None and not work.firm:
            waiting[look.stage, work.season].append(work)
    for (stage, season), served in sorted(waiting.items()):
        # The least certain work gives the look its name.
        served.sort(key=lambda work: (work.chance, work.day, work.rule, work.occurrence))
        yield _look(stage, season, served, years, weather, benches)


def _look(
    stage: str,
    season: int,
    served: list[Draft],
    years: TreeYears,
    weather: str,
    benches: list[tuple[int, str]],
) -> Draft:
    first = served[0]
    rule = years.rules.rules[first.rule]
    assert rule.look is not None
    days = years.stage(stage, season - years.frame.season)
    wanted = quantile(days, rule.look.quantile)
    before = min(work.day for work in served)
    opens = int(wanted) if np.isfinite(wanted) else before - 7
    day = _look_day(opens, before, years)
    names = ", ".join(sorted({work.rule for work in served}))
    why = (
        f"It settles when to do: {names}",
        stage_words(stage, season - years.frame.season, years),
        f"Weather: {weather}",
    )
    middle, late = quantile(days, 0.5), quantile(days, 0.9)
    return Draft(
        first.rule,
        season,
        1,
        "look",
        look_part(stage, season),
        f"Look: {years.rules.stages[stage].title.lower()}?",
        day,
        Window(min(opens, day), max(_int(middle) or day, day), max(_int(late) or day, day)),
        round(float(np.mean(days[~np.isnan(days)] >= day)), 2),
        LOOK_MINUTES,
        (),
        why,
        True,
        _bench_on(day, years, benches),
        "look",
        f"{rule.look.note}. Note what you see, or not-yet",
        look_moved_words(stage, season - years.frame.season, day, years),
    )


def _look_day(opens: int, before: int, years: TreeYears) -> int:
    """A day near the first on which there may be something to see, and before the work it settles."""
    shared = years.shared
    aim = max(min(opens, before - 1), shared.today)
    wanted = Wanted(
        max(aim - LOOK_SLACK_DAYS, shared.today), max(min(aim + LOOK_SLACK_DAYS, before - 1), aim), aim
    )
    day = choose_day(wanted, shared.workdays, np.zeros_like(years.load), {})
    return aim if day is None else day


def stage_rows(years: TreeYears) -> list[dict[str, Any]]:
    """What plan.json says of the stages of this season and the next."""
    return [_stage_row(stage, step, years) for step in (0, 1) for stage in years.rules.stages.values()]


def _stage_row(stage: Stage, step: int, years: TreeYears) -> dict[str, Any]:
    season = years.frame.season + step
    row: dict[str, Any] = {"stage": stage.id, "bbch": stage.bbch, "season": season}
    seen = years.history.stages.get((stage.id, season))
    if seen is not None:
        day = _day(seen)
        return {**row, "p10": day, "p50": day, "p90": day, "reached": 1.0, "basis": "observed"}
    days = years.stage(stage.id, step)
    if known_years(days, years.frame.rows) < TOO_FEW_YEARS:
        return {**row, "p10": None, "p50": None, "p90": None, "reached": None, "basis": "unknown"}
    if stage.flowering and years.facts.get(("bloom", step)) == "none":
        days = np.full_like(days, NEVER)
    dates = {f"p{share}": _day(quantile(days, share / 100)) for share in (10, 50, 90)}
    return {**row, **dates, "reached": round(reached_share(days), 3), "basis": "expected"}


def _day(day: float) -> str | None:
    return date.fromordinal(int(day)).isoformat() if np.isfinite(day) else None
