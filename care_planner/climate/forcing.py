"""Forcing: the daily rate of development through a sigmoid of temperature."""

import numpy as np

from care_planner.climate.daily_curve import hourly_temperatures
from care_planner.climate.gaps import Floats


def sigmoid_forcing(tmin: Floats, tmax: Floats, *, midpoint_c: float, slope_per_c: float) -> Floats:
    """Forcing units a day ([..., days], 0 to 1); nan where a value is nan.

    The mean over the daily curve of 1 / (1 + exp(-slope_per_c * (T - midpoint_c))): nothing in the cold,
    half a unit at `midpoint_c` (degC), at most one however warm. The form goes back to Sarvas (1972, 1974)
    and Hänninen (1990, Acta Forestalia Fennica 213), whose rate is 28.4 / (1 + exp(-0.185 (T - 18.4)));
    Chuine (2000, J. theor. Biol. 207:337-347) uses it scaled to 1 as here. (Citations from memory.)
    """
    steepness = slope_per_c * (midpoint_c - hourly_temperatures(tmin, tmax))
    # 700: as far as exp goes without overflow, and the rate is 0 there to the last digit.
    rates: Floats = 1 / (1 + np.exp(np.minimum(steepness, 700)))
    daily: Floats = rates.mean(axis=-1)
    return daily
