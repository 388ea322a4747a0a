"""Whether a clock can be right: a machine without a battery wakes in 1970, and would plan for then."""

from collections.abc import Iterable
from datetime import date

from care_planner.journal.model import Entry
from care_planner.years.previous import PreviousPlan

# No plan was ever made before this program was written.
FIRST_DAY = date(2026, 1, 1)
# Starting values: a clock a little off is the grower's own affair; nobody leaves a collection for ten years.
MOST_BACK_DAYS = 366
MOST_AHEAD_DAYS = 3653
_HINT = "set the machine's clock"


def clock_fault(today: date) -> str | None:
    """Why this cannot be today, for people; None where it can."""
    if today < FIRST_DAY:
        return f"the clock says {today.isoformat()}, which is before this program was written: {_HINT}"
    return None


def clock_doubt(today: date, previous: PreviousPlan, entries: Iterable[Entry]) -> str | None:
    """Why the clock's day is not to be believed against what is known; None where it is.

    Known are the day of the plan that stands and the newest note. Without a plan there is no calendar to
    be spoiled, and a weather record may have ended long ago.
    """
    fault = clock_fault(today)
    if fault is not None:
        return fault
    day = today.toordinal()
    if previous.today and day < previous.today - MOST_BACK_DAYS:
        stands = date.fromordinal(previous.today).isoformat()
        return f"the clock says {today.isoformat()}, but the plan that stands is of {stands}: {_sure(today)}"
    newest = max([previous.today, *(entry.day for entry in entries)])
    if previous.today and day > newest + MOST_AHEAD_DAYS:
        last = date.fromordinal(newest).isoformat()
        return f"the clock says {today.isoformat()}, but nothing here is later than {last}: {_sure(today)}"
    return None


def _sure(today: date) -> str:
    return f"{_HINT}, or, if it is right, plan once with --today {today.isoformat()} and --out"
