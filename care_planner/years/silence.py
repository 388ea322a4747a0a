"""Work of which no note tells: asked for, taken as done, or over; and trees noted as standing outside."""

from care_planner.rulebook.rule import Rule
from care_planner.windows.window import MemberWindow
from care_planner.years.outcome import Outcome
from care_planner.years.place import Aim
from care_planner.years.reasons import IsAsked, NobodySaid, TakenAsDone
from care_planner.years.state import STANDS_OUTSIDE, TreeYears

# A question lapses with its season, but not sooner than this after the work's time.
LAPSES_DAYS = 90
# Up to this many days after midwinter a tree that stands outside is in danger: common practice, no source.
WINTER_DAYS = 75
SPRING_DAYS = 105  # from midwinter to the middle of spring


def unanswered(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
    """What becomes of work that matters, whose time is over without a note."""
    shared, wanted = years.shared, aim.wanted
    day, last = float(wanted.aim), float(wanted.last)
    lapses = max(years.frame.start_of(step + 1), wanted.last + LAPSES_DAYS)
    moves = any(effect.moves_to is not None for effect in rule.effects)
    if moves:  # asked until spring brings things out again; then it was in, as most are
        lapses = years.frame.start_of(step + 1) + SPRING_DAYS
    if shared.silence != "ask" or (moves and shared.today >= lapses):
        return Outcome(
            rule, step, "presumed", TakenAsDone(wanted.first, wanted.last), day, day, window=window
        )
    if shared.today >= lapses:
        return Outcome(rule, step, "past", NobodySaid(wanted.first, wanted.last), window=window)
    return Outcome(rule, step, "open", IsAsked(wanted.first, wanted.last), day, last, window=window)


def outside_after(rule: Rule, step: int, day: float, years: TreeYears) -> int | None:
    """The last day of a winter on which a note says that a tree stands outside, later than a `day`; None for
    work that moves no tree into shelter."""
    if not rule.moves("winter-bench"):
        return None
    winter_ends = years.frame.start_of(step + 1) + WINTER_DAYS
    seen = [at for (id, _), at in years.history.signs.items() if id == STANDS_OUTSIDE]
    seen += [at for at, bench in years.history.moves if bench == years.tree.bench]
    return max((at for at in seen if day < at < winter_ends), default=None)


def is_winter(step: int, years: TreeYears) -> bool:
    """Whether the winter after a season is not over."""
    return years.shared.today <= years.frame.start_of(step + 1) + WINTER_DAYS
