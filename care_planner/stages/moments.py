"""When a moment of the rulebook falls, in every member.

All days are ordinals as float64 [members]; NEVER where it does not come, -inf where it lies further
back than the span that is looked at ("long ago"), UNKNOWN where weather is missing.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from care_planner.climate.day_length import day_length_h
from care_planner.rulebook.moment import SEASON_STEP, DayLength, LessChill, Moment, WarmthSum
from care_planner.rulebook.taxon import BloomCurve
from care_planner.spans import HALF_YEAR_DAYS, NEVER, UNKNOWN, month_day, season_start
from care_planner.stages.reach import Floats, Ints
from care_planner.stages.weather import Weather

LONG_AGO = -np.inf
NightLimit = float | str  # degC, or "frost-limit": the tree's own
# The opening of the bloom has a pace of its own, as a stage has.
BLOOM = "share-open"
# What does not come within a year of its start does not come: leap years are the longest.
A_YEAR_DAYS = 366
# A stage or opening that has not come this many days into the next season does not come at all.
DAYS_OF_GRACE = 45


@dataclass(frozen=True, eq=False)
class Frame:
    """The span of days, the place and the members; the same for every tree of a collection."""

    south: bool
    latitude: float
    season: int  # the season that step 0 stands for
    first_day: int
    days: int
    rows: Ints  # the weather year of each member
    day_length: Floats  # hours [days]

    def start_of(self, step: int) -> int:
        """First day of the season at a step."""
        return season_start(self.season + step, self.south)

    def month_day(self, text: str, step: int) -> int:
        """A month-day of the rulebook in the season at a step."""
        month, day = text.split("-")
        return month_day(self.season + step, int(month), int(day), self.south)

    def last_day_for(self, step: int) -> int:
        """The day (out) by which something of a season must have come."""
        return self.start_of(step + 1) + DAYS_OF_GRACE

    def everywhere(self, day: float) -> Floats:
        """The same day in every member."""
        return np.full(len(self.rows), float(day))


class View(Protocol):
    """What a moment may ask about one tree. Steps count seasons from the one being planned."""

    @property
    def frame(self) -> Frame: ...
    @property
    def curve(self) -> BloomCurve | None: ...
    def pace_of(self, stage: str, step: int) -> Floats: ...  # [members], times the taxon's sums
    def weather(self, step: int) -> Weather: ...  # where it stands
    def stage(self, id: str, step: int) -> Floats: ...
    def work(self, id: str, step: int) -> Floats: ...
    def last_cut(self, step: int) -> Floats: ...
    def sign(self, id: str, step: int) -> Floats: ...
    def noted_work(self, id: str, step: int) -> Floats: ...
    def opened(self, step: int) -> tuple[tuple[int, float], ...]: ...  # (day, share open) as noted
    def first_night(self, at_most_c: NightLimit, step: int) -> Floats: ...  # at its outdoor bench
    def last_night(self, at_most_c: NightLimit, step: int) -> Floats: ...


def day_lengths(latitude: float, first_day: int, days: int) -> Floats:
    """Hours of day length for a span of days."""
    return np.asarray(day_length_h(latitude, np.arange(first_day, first_day + days)))


def evaluate(
    moment: Moment, step: int, view: View, pace: Floats | None = None, ends: dict[str, Floats] | None = None
) -> Floats:
    """The day of a moment in every member.

    `pace` [members] multiplies warmth sums (given for a tree's own stages, not for rules);
    `ends` holds the other end of the same window, for moments that hang on it.
    """
    at = step + SEASON_STEP[moment.season]
    days = _kinds(moment, at, view, pace, ends)
    return days + moment.plus_days if moment.plus_days else days


def _kinds(
    moment: Moment, at: int, view: View, pace: Floats | None, ends: dict[str, Floats] | None
) -> Floats:
    frame = view.frame
    if moment.stage is not None:
        return view.stage(moment.stage, at)
    if moment.work is not None:
        return view.work(moment.work, at)
    if moment.noted_work is not None:
        return view.noted_work(moment.noted_work, at)
    if moment.last_cut is not None:
        return view.last_cut(at)
    if moment.sign is not None:
        return view.sign(moment.sign, at)
    if moment.month_day is not None:
        return frame.everywhere(frame.month_day(moment.month_day, at))
    if moment.share_open is not None:
        return _share_open(moment.share_open, at, view)
    if moment.of is not None:
        assert ends is not None
        return ends[moment.of]
    if moment.earliest is not None:
        parts = [evaluate(part, at, view, pace, ends) for part in moment.earliest]
        return np.asarray(np.minimum.reduce(parts))
    if moment.latest is not None:
        parts = [evaluate(part, at, view, pace, ends) for part in moment.latest]
        return np.asarray(np.maximum.reduce(parts))
    if moment.first_night is not None:
        return view.first_night(moment.first_night.at_most_c, at)
    if moment.last_night is not None:
        return view.last_night(moment.last_night.at_most_c, at)
    return _summed(moment, at, view, pace, ends)


def _summed(
    moment: Moment, at: int, view: View, pace: Floats | None, ends: dict[str, Floats] | None
) -> Floats:
    """The kinds that start from another moment, or from midwinter or midsummer."""
    frame = view.frame
    if moment.last_day_leaving is not None:
        leaving = moment.last_day_leaving
        before = evaluate(leaving.before, at, view, pace, ends)
        limit = float(frame.start_of(at + 1))
        columns = np.minimum(before, limit) - frame.first_day
        running = view.weather(at).running(leaving.by)
        needs = frame.everywhere(leaving.sum)
        earliest = max(0, frame.start_of(at) - frame.first_day)
        return running.last_leaving(frame.rows, columns, needs, earliest) + frame.first_day
    since = _since(moment, at, view, pace, ends)
    limit_column = frame.last_day_for(at) - frame.first_day
    starts = since - frame.first_day
    if moment.warmth is not None:
        seen = _last_open(at, view) if _follows_the_bloom(moment, view) else None
        return _warmth(moment.warmth, at, view, pace, starts, limit_column, seen)
    if moment.chill is not None:
        running = view.weather(at).running(moment.chill.by)
        needs = frame.everywhere(moment.chill.sum)
        return running.first_reaching(frame.rows, starts, needs, limit_column) + frame.first_day
    if moment.held is not None:
        marks = view.weather(at).held(moment.held)
        if moment.held.which == "last":
            first, end = (frame.start_of(step) - frame.first_day for step in (at, at + 1))
            return marks.last_before(frame.rows, end, first) + frame.first_day
        found = marks.first_from(frame.rows, starts + (moment.held.days - 1), limit_column)
        return found + frame.first_day
    assert moment.day_length is not None
    return _day_length(moment.day_length, frame, since)


def _since(
    moment: Moment, at: int, view: View, pace: Floats | None, ends: dict[str, Floats] | None
) -> Floats:
    if moment.since is not None:
        return np.maximum(evaluate(moment.since, at, view, pace, ends), float(view.frame.first_day))
    falling = (moment.held is not None and moment.held.at_most_c is not None) or (
        moment.day_length is not None and moment.day_length.at_most_h is not None
    )
    # Midwinter for what rises, midsummer for what falls.
    return view.frame.everywhere(view.frame.start_of(at) + (HALF_YEAR_DAYS if falling else 0))


def _warmth(
    wanted: WarmthSum,
    at: int,
    view: View,
    pace: Floats | None,
    starts: Floats,
    limit: int,
    seen: tuple[int, float] | None = None,
) -> Floats:
    """`seen` is a day and the warmth that the bloom had had by then: the sum goes on from there."""
    frame = view.frame
    needed = wanted.sum
    if seen is not None:
        needed = max(wanted.sum - seen[1], 0.0)
        starts = frame.everywhere(seen[0] + 1 - frame.first_day)
    needs = needed * (pace if pace is not None else np.ones(len(frame.rows)))
    weather = view.weather(at)
    if wanted.less_chill is None:
        found = weather.running(wanted.by).first_reaching(frame.rows, starts, needs, limit)
    else:
        found = _warmth_with_chill(wanted, wanted.less_chill, at, view, starts, needs, limit)
    return found + frame.first_day


def _warmth_with_chill(
    wanted: WarmthSum, less: LessChill, at: int, view: View, starts: Floats, needs: Floats, limit: int
) -> Floats:
    """Warmth against a need that falls as chill gathers: the first day on which it is met.

    Both the warmth so far and the share of the chill so far only rise, so the first day is the only
    crossing; it is found on whole arrays [members, days].
    """
    frame = view.frame
    weather = view.weather(at)
    warmth, chill = weather.running(wanted.by), weather.running(less.chill)
    from_day = frame.month_day(less.since, at + SEASON_STEP[less.since_season])
    cold_from = min(max(from_day - frame.first_day, 0), chill.days)
    limit = min(limit, warmth.days)
    begin = np.where(np.isnan(starts) | (starts == NEVER), limit, np.clip(starts, 0, limit)).astype(np.int64)
    low = int(begin.min(initial=limit))
    if low == limit:
        return np.where(np.isnan(starts), UNKNOWN, NEVER)
    share = np.minimum((chill.sums[:, low + 1 : limit + 1] - chill.sums[:, [cold_from]]) / less.enough, 1.0)
    times = 1.0 + (less.at_most_times - 1.0) * (1.0 - np.maximum(share, 0.0))
    gained = warmth.sums[frame.rows, low + 1 : limit + 1] - warmth.sums[frame.rows, begin][:, None]
    met = gained >= needs[:, None] * times[frame.rows] - 1e-9
    reached = met.any(axis=1)
    found = np.where(reached, np.maximum(met.argmax(axis=1) + low, begin), limit)
    result = np.where(reached, found.astype(np.float64), NEVER)
    end = np.minimum(found + 1, limit)
    gaps = warmth.gaps[frame.rows, end] - warmth.gaps[frame.rows, np.minimum(begin, end)]
    gaps += chill.gaps[frame.rows, end] - chill.gaps[frame.rows, np.minimum(cold_from, end)]
    result[((gaps > 0) & (starts < NEVER)) | np.isnan(starts)] = UNKNOWN
    return result


def _share_open(share: float, at: int, view: View) -> Floats:
    """The day on which so much is open: from the first flower on, or from the last share that was noted."""
    curve = view.curve
    assert curve is not None  # a pack that asks without a curve is refused when it is read
    frame = view.frame
    pace = view.pace_of(BLOOM, at)
    starts = view.stage(curve.since, at) - frame.first_day
    needs = curve.warmth_at(share) * pace
    limit = frame.last_day_for(at) - frame.first_day
    running = view.weather(at).running(curve.by)
    found = running.first_reaching(frame.rows, starts, needs, limit) + frame.first_day
    notes = view.opened(at)
    by = [day for day, open_ in notes if open_ >= share - 1e-9]
    if by:
        return np.minimum(found, min(by))
    seen = _last_open(at, view)
    if seen is None:
        return found
    starts = frame.everywhere(seen[0] + 1 - frame.first_day)
    needs = np.maximum(curve.warmth_at(share) - seen[1], 0.0) * pace
    return running.first_reaching(frame.rows, starts, needs, limit) + frame.first_day


def _last_open(at: int, view: View) -> tuple[int, float] | None:
    """The day of the last share noted, and the warmth since the first flower that it stands for."""
    notes = [note for note in view.opened(at) if note[1] > 0]
    if not notes or view.curve is None:
        return None
    day, share = max(notes)
    return day, view.curve.warmth_at(share)


def _follows_the_bloom(moment: Moment, view: View) -> bool:
    """Whether a sum is of the very warmth that opens the flowers, counted from the first of them."""
    curve = view.curve
    since = moment.since
    if curve is None or since is None or moment.warmth is None:
        return False
    return since.stage == curve.since and not since.plus_days and moment.warmth.by == curve.by


def first_night(limit_c: float, at: int, frame: Frame, home: Weather) -> Floats:
    """The first night at or under a limit, from a season's midsummer to the next."""
    start = frame.start_of(at) + HALF_YEAR_DAYS - frame.first_day
    limit = frame.start_of(at + 1) + HALF_YEAR_DAYS - frame.first_day
    found = home.nights(start, limit).first_at(limit_c) + (max(start, 0) + frame.first_day)
    return np.asarray(found[frame.rows])


def last_night(limit_c: float, at: int, frame: Frame, home: Weather) -> Floats:
    """The last night at or under a limit before a season's midsummer, since the one before it; long ago where
    there is none."""
    end = frame.start_of(at) + HALF_YEAR_DAYS - frame.first_day
    earliest = frame.start_of(at - 1) + HALF_YEAR_DAYS - frame.first_day
    found = home.nights(earliest, end).last_at(limit_c) + (max(earliest, 0) + frame.first_day)
    return np.asarray(found[frame.rows])


def _day_length(wanted: DayLength, frame: Frame, since: Floats) -> Floats:
    hours = frame.day_length
    falling = wanted.at_most_h is not None
    holds = hours <= (wanted.at_most_h or 0.0) if falling else hours >= (wanted.at_least_h or 0.0)
    columns = np.arange(frame.days)
    following = np.full(frame.days + 1, NEVER)
    following[:-1] = np.minimum.accumulate(np.where(holds, columns, NEVER)[::-1])[::-1]
    usable = np.clip(np.where(np.isfinite(since), since - frame.first_day, frame.days), 0, frame.days)
    found = following[usable.astype(np.int64)] + frame.first_day
    found = np.where(found < since + A_YEAR_DAYS, found, NEVER)
    return np.where(np.isnan(since), UNKNOWN, found)
