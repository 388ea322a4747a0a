"""Places that the stories of advice are played at: real records, and records made of them by a stated shift.

`southern`, `continental` and `frost-free` are no real places: their source is the record they are made of,
and the formula here.
"""

from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np

from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord

ROOT = Path(__file__).parents[2]
FILES = {
    "gangneung": ROOT / "examples" / "gangneung" / "weather.csv.gz",
    "utsunomiya": ROOT / "tests" / "data" / "utsunomiya_1976_2025.csv.gz",
    "brussels": ROOT / "tests" / "data" / "brussels_1976_2005.csv.gz",
}
LATITUDES = {
    "gangneung": 37.75,
    "utsunomiya": 36.55,
    "brussels": 50.8,
    "southern": -37.75,
    "continental": 44.0,
    "frost-free": 36.55,
}
HALF_YEAR = 182  # days by which a northern record is laid later for the southern one
# Continental: Gangneung's swing round its mean made so much wider, and all of it so much colder.
WIDER, COLDER_C = 1.45, 3.0
WARMER_C = 9.0  # frost-free: Utsunomiya, so much warmer


@cache
def record(place: str) -> WeatherRecord:
    """The weather of a place."""
    if place in FILES:
        found, problems = read_weather_file(FILES[place], FILES[place].name)
        assert found is not None, problems
        return found
    base = record("utsunomiya" if place == "frost-free" else "gangneung")
    low, high = base.tmin_c, base.tmax_c
    shift = 0
    if place == "southern":
        shift = HALF_YEAR
    elif place == "continental":
        mean = float(np.nanmean((low + high) / 2))
        low, high = (mean - COLDER_C + WIDER * (part - mean) for part in (low, high))
    else:
        low, high = low + WARMER_C, high + WARMER_C
    return WeatherRecord(base.first_day + shift, low, high, (low + high) / 2, source=f"made of {base.source}")


def site(place: str) -> dict[str, str]:
    """The site of a place, as a collection's file has it."""
    return {
        "latitude": str(LATITUDES[place]),
        "longitude": "10",
        "timezone": "UTC",
        "weather": "x.csv",
        "take_out_warming": "no",
    }


def day_at(place: str, text: str) -> date:
    """A northern date, or the same half a year later at a southern place."""
    day = date.fromisoformat(text)
    return day + timedelta(days=HALF_YEAR) if LATITUDES[place] < 0 else day
