"""Weeks that hold more work than hours: a sentence, a table, what is left out and what would help."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from care_planner.collection.model import Collection
from care_planner.plan import Plan
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import LOSSES, Loss
from care_planner.show.wrapping import wrapped
from care_planner.tasks.levelling import COSTS, Week
from care_planner.tasks.model import Task
from care_planner.tasks.rounds import Round, rounds
from care_planner.words.days import day_words, short_day, weekday_words
from care_planner.words.entries import MISSED

MOST_FULL_WEEKS = 8
MOST_LEFT_OUT = 7
MOST_TOO_LONG = 3
DAYS_OF_A_YEAR = 366
_SAVED: Mapping[Loss, str] = {"flowers": "flowers", "growth": "growth", "form": "form", "looks": "looks"}


def full_week_lines(plan: Plan, collection: Collection, taxa: Mapping[str, TaxonRules]) -> Iterator[str]:
    """Nothing where everything fits."""
    if not plan.full_weeks:
        return
    left = [task for task in plan.tasks if task.left]
    yield ""
    count = len(plan.full_weeks)
    over = sum(week.wanted > week.there for week in plan.full_weeks)
    told = (
        f"Your hours do not hold the work of {'1 week' if over == 1 else f'{over} weeks'}, watering and "
        "the bench walk with it. What costs least to move was moved"
        if over
        else "Not all work finds a day among your hours"
    )
    out = f"{told}, and {'1 work is' if len(left) == 1 else f'{len(left)} works are'} left out."
    yield from wrapped(out if left else f"{told}; nothing is left out.")
    yield f"  {'week of':<13}{'asks':>8}{'hours':>8}{'moved':>8}{'left out':>10}   an hour more saves"
    shown = _most_pressing(plan.full_weeks)
    for week in shown:
        hours = [f"{minutes / 60:.1f} h" for minutes in (week.wanted, week.there, week.moved, week.left)]
        cells = "".join(f"{text:>{width}}" for text, width in zip(hours, (8, 8, 8, 10), strict=True))
        yield f"  {_week_of(week, plan.today):<13}{cells}   {_saves(week)}"
    if count > len(shown):
        more = count - len(shown)
        yield f"  and {more} {'week' if more == 1 else 'weeks'} more that lack less"
    yield from _left_out(left, plan)
    yield from _too_long(plan, collection)
    yield from _what_would_help(plan, left, collection, taxa)


def _most_pressing(weeks: Sequence[Week]) -> list[Week]:
    """Those in which an hour more saves most, by date."""
    dearest = sorted(weeks, key=lambda week: (-week.saves, week.monday))[:MOST_FULL_WEEKS]
    return sorted(dearest, key=lambda week: week.monday)


def _week_of(week: Week, today: int) -> str:
    same = date.fromordinal(week.monday).year == date.fromordinal(today).year
    return short_day(week.monday) if same else day_words(week.monday)


def _saves(week: Week) -> str:
    """What an hour more on the day where it counts most would save: `Sun 9 May: flowers, 2 trees`."""
    for loss, name in _SAVED.items():
        trees = round(week.saves / COSTS[loss])
        if trees >= 1:
            return f"{weekday_words(week.best_day)}: {name}, {trees} {'tree' if trees == 1 else 'trees'}"
    return "little"


def _left_out(left: Sequence[Task], plan: Plan) -> Iterator[str]:
    """Works for which there is no time, the dearest last, and by which chance that costs something."""
    if not left:
        return
    yield "Left out, the dearest last"
    told = sorted(rounds(left), key=_expected_loss)
    cheaper = told[:-MOST_LEFT_OUT]
    if cheaper:
        works = sum(len(work.tasks) for work in cheaper)
        yield f"  {works} cheaper {'one' if works == 1 else 'ones'}; the bench walk of each week names them"
    for work in told[-MOST_LEFT_OUT:]:
        trees = f"{len(work.trees)} trees" if len(work.trees) > 1 else work.trees[0]
        text = f"{_near(work.day)}: {work.title}, {trees}, {_time(work.minutes)}; {_by_chance(work)}"
        text += _because(work, plan)
        yield from wrapped(text, "  ", "    ")


def _because(work: Round, plan: Plan) -> str:
    """Why it found no day, where it is the same for all of it and not other work alone."""
    found = {plan.left_because.get(task.key, "hours") for task in work.tasks}
    why = found.pop() if len(found) == 1 else "hours"
    if why == "no-day":
        return f". {_its_days(work, plan.today)} are none of yours"
    if why == "too-long":
        return ". It takes longer than any of its days has"
    return ". Its days hold as many kinds of work as one can live with" if why == "kinds" else ""


def _its_days(work: Round, today: int) -> str:
    opens, closes = work.window.opens, work.window.closes
    if opens is None or closes is None:
        return "Its days"
    return f"Its days, {short_day(max(opens, today))} to {short_day(closes)},"


def _time(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"


def _expected_loss(work: Round) -> tuple[float, int, int, str]:
    lost = sum(COSTS[task.loss] * task.chance for task in work.tasks)
    return lost, -LOSSES.index(work.loss), work.day, work.key


def _by_chance(work: Round) -> str:
    """What leaving it out costs, in how many years of ten: in those it would have been in time."""
    cost = MISSED[work.loss].removeprefix("Missed, ").rstrip(".")
    if work.loss == "nothing":
        return cost
    years = round(10 * sum(task.chance for task in work.tasks) / len(work.tasks))
    return f"in {'nearly every year' if years >= 10 else f'{max(years, 1)} years of 10'} {cost}"


def _near(day: int) -> str:
    return f"{weekday_words(day)} {date.fromordinal(day).year}"


def _too_long(plan: Plan, collection: Collection) -> Iterator[str]:
    """Works that no day holds: they are begun on their day."""
    year = range(plan.today, plan.today + DAYS_OF_A_YEAR)
    longest = max(map(collection.people.minutes, year))
    found = [task for task in plan.tasks if task.way == "work" and task.minutes > longest and not task.left]
    for task in found[:MOST_TOO_LONG]:
        takes = f"{task.title.split(', ')[0].lower()} takes {task.minutes / 60:.1f} h, longer than any day"
        yield from wrapped(
            f"{task.tree}: {takes} you have: begin on {_near(task.day)}, and go on with it on your next days."
        )


def _what_would_help(
    plan: Plan, left: Sequence[Task], collection: Collection, taxa: Mapping[str, TaxonRules]
) -> Iterator[str]:
    if not left:
        return
    yield "What would help"
    weeks = sorted(
        (week for week in plan.full_weeks if week.left), key=lambda week: (-week.left, week.monday)
    )
    named = [f"{_time(week.left)} in the week of {_week_of(week, plan.today)}" for week in weeks[:2]]
    more = sum(week.left for week in weeks[2:])
    named += [f"{_time(more)} in {len(weeks) - 2} others"] if more else []
    yield from wrapped(f"A helper: {', '.join(named)}", "  ", "    ")
    long = max((week.too_long for week in weeks), default=0)
    if long:
        yield from wrapped(f"One longer day: a work of {_time(long)} has none in its time", "  ", "    ")
    yield from (line for text in _instead(left, collection, taxa) for line in wrapped(text, "  ", "    "))


def _instead(left: Sequence[Task], collection: Collection, taxa: Mapping[str, TaxonRules]) -> list[str]:
    """What the packs do with a tree for whose work there is no room."""
    trees = {tree.id: tree for tree in collection.trees}
    texts: dict[str, None] = {}
    for task in left:
        rule = taxa[task.taxon].rules.get(task.rule) if task.taxon in taxa else None
        for choice in rule.no_room if rule is not None else ():
            if trees[task.tree].goal_in(task.season) in choice.goal and choice.work == "none":
                texts[f"{task.title}: {choice.says}; it costs {choice.costs}"] = None
    return list(texts)
