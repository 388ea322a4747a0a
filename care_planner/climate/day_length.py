"""Day length from latitude and date."""

import math

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats

# Angle (degrees) of the sun below the horizon at which the day begins: 0.8333 is sunrise as tables give it
# (the upper rim, with refraction); 0 is the centre on the horizon.
SUNRISE_DEG = 0.8333
_ORDINAL_OF_1970 = 719163


def day_length_h(latitude: float, days: NDArray[np.int64], sunrise_deg: float = SUNRISE_DEG) -> Floats:
    """Hours of daylight (shape of `days`, 0 to 24) at a latitude (degrees, north positive).

    days: ordinals. The CBM model: Forsythe, Rykiel, Stahl, Wu & Schoolfield 1995 (Ecol. Modelling 80:87-95).
    Where the sun does not set or not rise it is 24 or 0.
    """
    dates = (np.asarray(days) - _ORDINAL_OF_1970).astype("datetime64[D]")
    day_of_year = (dates - dates.astype("datetime64[Y]")).astype(np.int64) + 1
    orbit = 0.2163108 + 2 * np.arctan(0.9671396 * np.tan(0.00860 * (day_of_year - 186)))
    declination = np.arcsin(0.39795 * np.cos(orbit))
    # At a pole itself the cosine is 0 but for rounding; this close to it makes no difference.
    north = math.radians(min(max(latitude, -89.99), 89.99))
    height = math.sin(math.radians(sunrise_deg)) + math.sin(north) * np.sin(declination)
    night_angle = np.arccos(np.clip(height / (math.cos(north) * np.cos(declination)), -1, 1))
    hours: Floats = 24 - 24 / math.pi * night_angle
    return hours
