"""Which form of the need to take: each family is fitted on some stations, and compared on the others.

Stations are left out whole, in `PARTS` parts, and nothing of a part has a say in the numbers it is forecast
by: not the start of the sum, not the chill, not the curve.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from care_planner.learning.fitting.need_forms import Gathering, NeedForm
from care_planner.learning.fitting.records import COLUMNS, Records, Seasons, column_of, lay
from care_planner.learning.fitting.search import Fit, Search, robust
from care_planner.learning.fitting.spec import FAMILIES, Family, FitEvent, FitSpec, Season
from care_planner.stages.reach import Floats

PARTS = 5
FEWEST_STATIONS = 3
# About so many seasons are enough for the coarse look, and for the first, wide search.
COARSE_SEASONS, WIDE_SEASONS = 240, 600
COARSE_KEPT = 3
WIDE_HALVINGS, FINE_HALVINGS = 4, 2
FINE_SCALE = 0.25
# Forcing follows the day in steps of so many hours while it is searched.
SEARCH_HOURS = 2
# A family with more numbers must be better by this share of the loss.
WORTH = 0.01
# Errors count linearly beyond so many times the middle distance of the notes from their station's mean.
ROBUST_TIMES = 2.0
ROBUST_LEAST_DAYS = 12.0
# A start must lie so many days before nearly all (99 %) notes.
DAYS_BEFORE = 10
# A season counts while its weather is whole up to so many days after the last note of nearly any season.
DAYS_AFTER = 5
WHOLE_SHARE = 0.8

WARM_FROM: dict[Season, tuple[str, ...]] = {
    "spring": ("12-15", "01-01", "01-15", "02-01", "02-15", "03-01"),
    "winter": ("08-15", "09-15", "10-01", "10-15", "11-01", "11-15", "12-01"),
    "autumn": ("08-01", "08-15", "09-01", "09-15", "10-01"),
}
HOURS = (13.5, 12.9, 12.4)
CHILL_FROM = ("10-01",)
CHILL_HIGH_C = (3.0, 7.0)


class TooLittle(Exception):
    """The records do not hold enough to fit from; the message says what is missing."""


Progress = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Left:
    """One part's stations, and the fit that has not seen them."""

    stations: tuple[str, ...]
    fit: Fit


@dataclass(frozen=True, eq=False)
class Chosen:
    """What was taken for one chain of events, with the parts left out and every family's loss on them."""

    events: tuple[FitEvent, ...]
    seasons: Seasons
    fit: Fit
    left: tuple[Left, ...]
    losses: dict[Family, float]
    width: float


class Chain:
    """One chain of events on its seasons."""

    def __init__(self, spec: FitSpec, events: Sequence[FitEvent], records: Records) -> None:
        self.spec, self.events = spec, tuple(events)
        self.season = events[0].season
        seasons = lay(records, self.season, [event.id for event in events])
        self.seasons, self.last = _whole(seasons, spec, [event.id for event in events])
        names = sorted(set(self.seasons.stations))
        if len(names) < FEWEST_STATIONS:
            raise TooLittle(
                f"{len(names)} stations have notes of {' and '.join(e.id for e in events)} and whole weather"
                f"; {FEWEST_STATIONS} at least"
            )
        for event in events:
            if np.isnan(self.seasons.days[event.id]).all():
                raise TooLittle(f"no note of {event.id} falls in a season with whole weather")
        self.parts = [tuple(names[part::PARTS]) for part in range(min(PARTS, len(names)))]
        self.width = _width(self.seasons)
        self.families = [f for f in FAMILIES[self.season] if not spec.families or f in spec.families]

    def choose(self, progress: Progress) -> Chosen:
        """The family that does best on stations left out, fitted on all."""
        names = set(self.seasons.stations)
        found: dict[Family, tuple[float, tuple[Left, ...]]] = {}
        for family in self.families:
            left = []
            for k, part in enumerate(self.parts):
                progress(f"{self.events[0].id}: {family}, part {k + 1} of {len(self.parts)}")
                left.append(Left(part, self.fitted(family, self.seasons.of(names - set(part)))))
            found[family] = self._loss(left), tuple(left)
        losses = {family: loss for family, (loss, _) in found.items()}
        family = _worth_it(losses)
        progress(f"{self.events[0].id}: {family}, all stations")
        fit = self.fitted(family, self.seasons)
        return Chosen(self.events, self.seasons, fit, found[family][1], losses, self.width)

    def fitted(self, family: Family, seasons: Seasons) -> Fit:
        """The best of a family on some seasons: a coarse look on some of them, then a search on all."""
        coarse, wide = (self.search(_some(seasons, n), SEARCH_HOURS) for n in (COARSE_SEASONS, WIDE_SEASONS))
        begun = coarse.coarse(self._guesses(family), COARSE_KEPT)
        if not begun:
            raise TooLittle(f"no start of {family} lies before the notes of {self.events[0].id}")
        near = min((wide.best(fit.form, WIDE_HALVINGS) for fit in begun), key=lambda fit: fit.loss)
        form = self.search(seasons, SEARCH_HOURS).best(near.form, FINE_HALVINGS, FINE_SCALE).form
        return self.search(seasons, 1).fit(form)

    def search(self, seasons: Seasons, hours: int) -> Search:
        """A search on some seasons; `hours` as in `Gathering`."""
        return Search(Gathering(seasons, self.first, self.last, hours), self.width, self._starts())

    def _loss(self, left: Sequence[Left]) -> float:
        errors = [errors for one in left for errors in self.errors(one).values()]
        return robust(np.concatenate(errors), self.width)

    def errors(self, left: Left) -> dict[str, Floats]:
        """By event: the errors (days) on the stations left out."""
        part = self.seasons.of(left.stations)
        found = self.search(part, 1).errors(left.fit)
        return {event: errors for event, (errors, _) in found.items()}

    @property
    def first(self) -> int:
        """The first column from which anything may count."""
        columns = [column_of(self.season, day) for day in (*self._chill_from(), *self._warm_from())]
        return max(min(columns), 0)

    def _chill_from(self) -> tuple[str, ...]:
        return () if self.season == "autumn" else tuple(self.spec.chill_from) or CHILL_FROM

    def _warm_from(self) -> tuple[str, ...]:
        """The starts that lie before nearly all notes."""
        told = tuple(self.spec.warmth_from) or WARM_FROM[self.season]
        first = self.events[0].id
        by = np.nanquantile(self.seasons.days[first], 0.01) - DAYS_BEFORE
        fit = tuple(day for day in told if column_of(self.season, day) <= by and self._is_known(day))
        return fit or (min(told, key=lambda day: column_of(self.season, day)),)

    def _starts(self) -> tuple[int, int] | None:
        """The columns between which the start is moved; None where the spec says from when."""
        if self.spec.warmth_from:
            return None
        columns = [column_of(self.season, day) for day in self._warm_from()]
        by = int(np.nanquantile(self.seasons.days[self.events[0].id], 0.01)) - DAYS_BEFORE
        return min(columns), max(by, max(columns))

    def _is_known(self, day: str) -> bool:
        column = self.seasons.tmin[:, column_of(self.season, day)]
        return bool(np.mean(~np.isnan(column)) >= WHOLE_SHARE)

    def _guesses(self, family: Family) -> Iterator[NeedForm]:
        starts = self._warm_from()
        if family == "cold":
            for start, base in product(starts, (12.0, 18.0, 24.0, 29.0)):
                yield NeedForm(family, start, base_c=base)
            if self.seasons.day_length is not None and not self.spec.warmth_from:
                for hours, base in product(HOURS, (18.0, 24.0, 29.0)):
                    yield NeedForm(family, starts[0], hours=hours, base_c=base)
            return
        curves = list(product(starts, (6.0, 10.0, 14.0, 18.0, 22.0), (0.12, 0.25)))
        if family == "forcing":
            yield from (NeedForm(family, s, midpoint_c=m, slope_per_c=k) for s, m, k in curves)
            return
        times = (1.3, 2.0) if family == "forcing-with-chill" else (1.0,)
        chills = product(self._chill_from(), CHILL_HIGH_C, (500.0, 1300.0), times)
        for (s, m, k), (since, high, enough, more) in product(curves, list(chills)):
            yield NeedForm(family, s, None, m, k, since, high, enough, more)


def _some(seasons: Seasons, count: int) -> Seasons:
    """About so many of the seasons, evenly over stations and years."""
    every = max(len(seasons) // count, 1)
    return seasons.rows(np.arange(len(seasons)) % every == 0)


def _worth_it(losses: dict[Family, float]) -> Family:
    """The family with the least loss, where a later one (with more numbers) must be worth them."""
    chosen = next(iter(losses))
    for family, loss in losses.items():
        if loss < losses[chosen] * (1.0 - WORTH):
            chosen = family
    return chosen


def _width(seasons: Seasons) -> float:
    """Days beyond which an error counts linearly: wider where notes of one station scatter more."""
    apart = []
    for days in seasons.days.values():
        for station in sorted(set(seasons.stations)):
            own = days[np.array([name == station for name in seasons.stations])]
            own = own[~np.isnan(own)]
            apart.append(np.abs(own - own.mean()) if len(own) else own)
    middle = float(np.median(np.concatenate(apart)))
    return max(ROBUST_TIMES * middle, ROBUST_LEAST_DAYS)


def _whole(seasons: Seasons, spec: FitSpec, events: Sequence[str]) -> tuple[Seasons, int]:
    """The seasons whose weather is whole where it is summed, and the column (out) where the looking ends."""
    latest = max(float(np.nanmax(seasons.days[event], initial=0.0)) for event in events)
    usual = max(
        float(np.nanquantile(days, 0.995)) if not np.isnan(days).all() else 0.0
        for days in (seasons.days[event] for event in events)
    )
    missing = np.isnan(seasons.tmin) | np.isnan(seasons.tmax)
    known = missing.mean(axis=0) < 1.0 - WHOLE_SHARE if len(seasons) else np.zeros(COLUMNS, dtype=np.bool_)
    end = COLUMNS if not known.any() else int(np.flatnonzero(known)[-1]) + 1
    last = min(int(latest) + 40, end, COLUMNS)
    asked = list(spec.warmth_from or WARM_FROM[seasons.season])
    asked += list(spec.chill_from or CHILL_FROM) if seasons.season != "autumn" else []
    columns = [c for c in (column_of(seasons.season, day) for day in asked) if known[c]]
    begin, stop = min(columns, default=0), min(int(usual) + DAYS_AFTER, end)
    return seasons.rows(np.logical_not(np.any(missing[:, begin:stop], axis=1, keepdims=True))[:, 0]), last
