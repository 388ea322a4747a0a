"""The numbers of a form that fit best: a coarse look first, then each number is moved while that helps."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from care_planner.learning.fitting.need_forms import STEPS, Gathering, NeedForm, moved
from care_planner.learning.fitting.records import column_of
from care_planner.stages.reach import Floats, Ints

SMALLEST_GAIN = 1e-3
SMALLEST_LOSS = 1e-6


@dataclass(frozen=True)
class Fit:
    """A form with the sum each event needs, and its loss (days squared) on the seasons it was fitted on."""

    form: NeedForm
    sums: Mapping[str, float]
    loss: float


def at_event(gained: Floats, days: Floats, start: int) -> tuple[Floats, Floats, Ints]:
    """What has gathered in the middle of the noted days, its change from the day before, and their rows.

    Days before the start of the sum say nothing and are left out.
    """
    rows = np.flatnonzero(days > start).astype(np.int64)
    at = days[rows].astype(np.int64) - start
    now, before = gained[rows, at], gained[rows, at - 1]
    return (now + before) / 2, now - before, rows


def errors_of(gained: Floats, start: int, days: Floats, needed: float) -> tuple[Floats, Ints]:
    """Forecast less noted, days, where an event was noted; and the rows."""
    rows = np.flatnonzero(~np.isnan(days)).astype(np.int64)
    met = gained[rows] >= needed - 1e-9
    forecast = np.where(met[:, -1], met.argmax(axis=1), gained.shape[1]) + start
    return forecast - days[rows], rows


def robust(errors: Floats, width: float) -> float:
    """Mean squared days up to `width`, linear beyond (Huber 1964): real notebooks hold gross errors."""
    size = np.abs(errors)
    return float(np.mean(np.where(size < width, size**2, width * (2 * size - width))))


class Search:
    """Fits forms to the events of one chain. `width`: days beyond which an error counts linearly."""

    def __init__(self, gathering: Gathering, width: float, starts: tuple[int, int] | None = None) -> None:
        """`starts`: the first and last column at which a sum may start; None: starts are not moved."""
        self.gathering, self.width, self.starts = gathering, width, starts
        self.days = gathering.seasons.days

    def fit(self, form: NeedForm) -> Fit:
        """The sums of a form (the median of what had gathered when the event was noted) and its loss."""
        gained, start = self.gathering.gained(form)
        sums, losses = {}, []
        for event, days in self.days.items():
            middle, _, rows = at_event(gained, days, start)
            needed = float(np.median(middle)) if len(rows) else 0.0
            if needed <= 0.0:
                return Fit(form, {}, np.inf)
            sums[event] = needed
            losses.append(robust(errors_of(gained, start, days, needed)[0], self.width))
        # The geometric mean: each event's errors count against its own scatter.
        return Fit(form, sums, float(np.exp(np.mean(np.log(np.maximum(losses, SMALLEST_LOSS))))))

    def errors(self, fit: Fit) -> dict[str, tuple[Floats, Ints]]:
        """By event, errors and rows of a form fitted elsewhere."""
        gained, start = self.gathering.gained(fit.form)
        return {event: errors_of(gained, start, days, fit.sums[event]) for event, days in self.days.items()}

    def coarse(self, forms: Iterable[NeedForm], keep: int) -> list[Fit]:
        """The best of some forms, the first of equals."""
        fits = [self.fit(form) for form in forms if form.is_possible()]
        return sorted((fit for fit in fits if np.isfinite(fit.loss)), key=lambda fit: fit.loss)[:keep]

    def best(self, guess: NeedForm, halvings: int, scale: float = 1.0) -> Fit:
        """A pattern search: each number is moved by its step while that helps, then steps are halved."""
        best = self.fit(guess)
        steps = {name: step * scale for name, step in STEPS[guess.family].items()}
        for _ in range(halvings):
            better = True
            while better:
                better = False
                for name, step in steps.items():
                    for way in (step, -step):
                        if name == "warm_from" and (self.starts is None or abs(way) < 1):
                            continue
                        tried = moved(best.form, name, way)
                        if tried == best.form or not tried.is_possible() or not self._may_start(tried):
                            continue
                        found = self.fit(tried)
                        if found.loss < best.loss - SMALLEST_GAIN:
                            best, better = found, True
                            break
            steps = {name: step / 2 for name, step in steps.items()}
        return best

    def _may_start(self, form: NeedForm) -> bool:
        if self.starts is None:
            return True
        return self.starts[0] <= column_of(self.gathering.seasons.season, form.warm_from) <= self.starts[1]
