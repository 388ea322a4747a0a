"""How far forecasts of a night's low or a day's high go wrong, by days ahead.

Until a site has pairs of its own (a forecast beside what came) the spread is the published one; from
`PAIRS_FOR_BIAS` pairs its own bias is taken off, from `PAIRS_FOR_SPREAD` its own spread stands.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from care_planner.climate.gaps import Floats

# Standard deviation in degC of a forecast Tmin, 1 to 10 days ahead. Judgement on published rows: 119 sites of
# the Met Office (86.5 % of first nights within 2 degC: 1.34), Stern 2008 (Melbourne minima, 3 days: a mean
# error of about 1.6, so 2.0), Peroutka 2007 (3 days, Baltimore: 2.0), the expected errors in one MOSMIX file
# (0.8 to 2.7). No table of days 8 to 10 was found.
PUBLISHED_SD_C = (1.4, 1.6, 1.9, 2.2, 2.5, 2.8, 3.1, 3.4, 3.6, 3.8)
DAYS_AHEAD = len(PUBLISHED_SD_C)
PAIRS_FOR_BIAS, PAIRS_FOR_SPREAD = 30, 100
# No thermometer and no bench is nearer to a forecast than this: a starting value.
LEAST_SD_C = 0.5


@dataclass(frozen=True)
class ErrorLaw:
    """By days ahead, 1 first: what is taken off a forecast, its standard deviation (degC), and the pairs."""

    bias_c: tuple[float, ...] = (0.0,) * DAYS_AHEAD
    sd_c: tuple[float, ...] = PUBLISHED_SD_C
    pairs: tuple[int, ...] = (0,) * DAYS_AHEAD

    def at(self, lead: int) -> tuple[float, float]:
        """Bias and standard deviation so many days ahead; today's and older forecasts count as one day's."""
        place = min(max(lead, 1), DAYS_AHEAD) - 1
        return self.bias_c[place], self.sd_c[place]


PUBLISHED = ErrorLaw()


def error_law(pairs: Sequence[tuple[float, float, float]] | Floats) -> ErrorLaw:
    """The law of a site's own pairs, [pairs, 3]: (days ahead, forecast, what came), degC, in any order."""
    leads, forecast, came = np.asarray(pairs, dtype=np.float64).reshape(-1, 3).T
    errors = forecast - came
    known = np.isfinite(errors)
    bias, sd, count = [], [], []
    for lead, published in enumerate(PUBLISHED_SD_C, start=1):
        own = np.sort(errors[known & (leads == lead)])  # sorted, so that no order changes a last bit
        bias.append(float(own.mean()) if len(own) >= PAIRS_FOR_BIAS else 0.0)
        enough = len(own) >= PAIRS_FOR_SPREAD
        sd.append(max(float(own.std(ddof=1)), LEAST_SD_C) if enough else published)
        count.append(len(own))
    return ErrorLaw(tuple(bias), tuple(sd), tuple(count))


def chance_under(limit_c: float, mean_c: float, sd_c: float) -> float:
    """The chance of a value at or under a limit, by a normal law around the forecast (all degC).

    The US service's probabilities of freezing are made so: its forecast as mean, an ensemble's spread as sd.
    """
    return NormalDist(mean_c, sd_c).cdf(limit_c)


def narrowed(sd_c: float, climate_sd_c: float) -> float:
    """A forecast's spread, never wider than the climate's own of that date."""
    return min(sd_c, climate_sd_c) if math.isfinite(climate_sd_c) else sd_c


def leaning(lead: int, sd_c: float, climate_sd_c: float) -> float:
    """The weight of the forecast against the climate's mean, 1 on the first day, falling towards the tenth.

    On the tenth day it is that of two independent opinions of the same day, each by its precision; on the way
    there the climate's part grows evenly, since a service's own statistics lean first forecasts already.
    """
    part = (min(max(lead, 1), DAYS_AHEAD) - 1) / (DAYS_AHEAD - 1)
    return 1.0 - part * sd_c**2 / (sd_c**2 + climate_sd_c**2)


def climate_spread(rows: Floats) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each day over the weather years ([years, days] -> [days] each)."""
    return rows.mean(axis=0), rows.std(axis=0, ddof=1) if len(rows) > 1 else np.full(rows.shape[1], np.nan)
