"""The alarms of a season that was lived again, counted."""

from collections.abc import Iterator, Sequence

from care_planner.outlook.replay.calendars import CalendarDay
from care_planner.outlook.replay.counts import WRITTEN_HOURS_BEFORE, Counts
from care_planner.outlook.replay.season import Replayed
from care_planner.show.wrapping import wrapped
from care_planner.words.days import day_words, short_day


def replay_lines(counts: Counts, of: Replayed, season: int) -> Iterator[str]:
    """What was called, what was missed, what was called in vain, and what a phone would have shown."""
    yield from wrapped(
        f"Season {season} of {of.record.source}, setting {of.setting}: forecasts made of what came, with the "
        f"published error (draw {of.seed})"
    )
    yield f"  nights                                     {counts.nights:5}"
    yield f"  nights that reached a tree's limit         {counts.hurt:5}"
    yield f"  of these called the afternoon before       {counts.called:5}   {counts.share_called:.0%}"
    yield f"  of these written a day or two ahead        {counts.early:5}"
    vain = f"{counts.false_per_true:.2f} for each true one"
    yield f"  called, and no limit was reached           {counts.false:5}   {vain}"
    yield f"  of these within 2 degC of a limit          {counts.near:5}"
    for hours, share in counts.phones:
        yield f"  shown by 16 h on a phone, every {hours:2} h       {share:6.0%}"
    yield from wrapped(
        f"(written {WRITTEN_HOURS_BEFORE:g} hours before 16 h where it was new that day)", "  ", "  "
    )
    if counts.silent_hurt:
        days = ", ".join(day_words(day) for day in counts.silent_hurt[:6])
        more = f" and {len(counts.silent_hurt) - 6} more" if len(counts.silent_hurt) > 6 else ""
        yield from wrapped(f"Not called: the nights of {days}{more}")


def calendar_lines(days: Sequence[CalendarDay], of: Replayed) -> Iterator[str]:
    """The calendar of each day against the day before it; and the week without network, day by day."""
    if not days:
        return
    # The first day of a replay fills an empty calendar.
    later = days[1:]
    yield ""
    yield f"Calendars made and published                 {len(days):5}"
    for words, value in (
        ("failed their check", sum(1 for day in days if day.fault)),
        ("entries whose revision went back", sum(day.fallen for day in days)),
        ("new entries of the forecast, most in a day", max((day.nights for day in later), default=0)),
        ("  in the whole season", sum(day.nights for day in later)),
        ("new entries of the plan, most in a day", max((day.others for day in later), default=0)),
        ("new entries of both, most in a day", max((day.nights + day.others for day in later), default=0)),
        ("  days with more than two", sum(1 for day in later if day.nights + day.others > 2)),
        ("entries to come that were dropped", sum(day.dropped for day in later)),
        ("works that moved to another day, times", sum(day.moved for day in later)),
    ):
        yield f"  {words:<43}{value:5}"
    for day in days:
        if day.fault:
            yield from wrapped(f"{day_words(day.day)}: {day.fault}", "  ", "    ")
    away = [day for day in days if day.day in of.offline]
    if away:
        yield "Without network"
    for day in away:
        moved = {0: "no work moved", 1: "1 work moved"}.get(day.moved, f"{day.moved} works moved")
        yield from wrapped(f"{short_day(day.day)}: {moved}. {day.said}", "  ", "    ")
