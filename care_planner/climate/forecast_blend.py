"""The next ten days of every weather year drawn from the forecast and its spread.

Each row keeps its place: the row that was warm for the date stays the warm one, day by day, so that warm and
cold runs stay runs. Only the middle and the width of the rows become those of the forecast, leaning to the
climate towards the tenth day; after it each row goes on as it was.
"""

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.forecast_error import climate_spread, leaning, narrowed
from care_planner.climate.gaps import Floats
from care_planner.climate.outlook import Outlook, arrays
from care_planner.climate.weather_years import WeatherYears

# With fewer rows the climate has no spread to lean to, and one is a line and not a fan.
_FEWEST_ROWS = 3
# So much under the usual low of its date (degC) a night is one to be named: a starting value.
NIGHT_COLDER_C = 1.0


def with_outlook(years: WeatherYears, outlook: Outlook | None) -> WeatherYears:
    """The weather years with what is expected of the next days laid over them; observed days stay."""
    if outlook is None or not outlook.days or len(years.labels) < _FEWEST_ROWS:
        return years
    days = years.tmin_c.shape[1]
    low, low_sd, high, high_sd, lead = arrays(outlook, years.first_day, days)
    tmin = _drawn(years.tmin_c, low, low_sd, lead, years.observed)
    tmax = _drawn(years.tmax_c, high, high_sd, lead, years.observed)
    crossed = tmin > tmax
    middle = (tmin + tmax) / 2
    tmin, tmax = np.where(crossed, middle, tmin), np.where(crossed, middle, tmax)
    changed = (tmin != years.tmin_c) | (tmax != years.tmax_c)
    tmean = np.where(changed, (tmin + tmax) / 2, years.tmean_c)
    return replace(years, tmin_c=tmin, tmax_c=tmax, tmean_c=tmean)


@dataclass(frozen=True)
class ForecastSays:
    """The days to come against what is usual for them: up to which day (ordinal), and degC warmer.

    colder_nights: the days on whose mornings nights end that are clearly colder than usual.
    """

    until: int
    warmer_c: float
    colder_nights: tuple[int, ...] = ()


def forecast_says(usual: WeatherYears, drawn: WeatherYears, today: int) -> ForecastSays | None:
    """What the forecast makes of the days from `today`; None where it changes none of them.

    `drawn` is `usual` with the outlook laid over it: where it leans to the climate, so does this.
    """
    apart = np.mean(drawn.tmean_c - usual.tmean_c, axis=0)
    places = np.arange(max(today - usual.first_day, 0), len(apart))
    moved = places[np.isfinite(apart[places]) & (apart[places] != 0)]
    if not moved.size:
        return None
    colder = moved[np.mean(drawn.tmin_c - usual.tmin_c, axis=0)[moved] <= -NIGHT_COLDER_C]
    nights = tuple(usual.first_day + int(place) for place in colder)
    return ForecastSays(usual.first_day + int(moved[-1]), float(apart[moved].mean()), nights)


def _drawn(rows: Floats, mean: Floats, sd: Floats, lead: Floats, observed: NDArray[np.bool_]) -> Floats:
    """Rows [years, days] with the days that have a forecast drawn from it."""
    drawn = rows.copy()
    for place in np.flatnonzero(np.isfinite(mean) & ~observed):
        column = rows[:, place]
        known = np.isfinite(column)
        if known.sum() < _FEWEST_ROWS:
            continue
        climate_mean, climate_sd = (float(value[0]) for value in climate_spread(column[known, None]))
        days_ahead, error = int(lead[place]), float(sd[place])
        weight = leaning(days_ahead, error, climate_sd)
        middle = weight * float(mean[place]) + (1 - weight) * climate_mean
        width = float(np.sqrt((weight * error) ** 2 + ((1 - weight) * climate_sd) ** 2))
        drawn[known, place] = middle + narrowed(width, climate_sd) * _scores(column[known])
    return drawn


def _scores(values: Floats) -> Floats:
    """Normal scores of the values by their ranks, mean 0 and variance 1; equal values by their place."""
    order = np.argsort(values, kind="stable")
    count = len(values)
    scores = np.array([NormalDist().inv_cdf((n + 0.5) / count) for n in range(count)])
    laid = np.empty(count)
    laid[order] = scores / scores.std()
    return laid
