"""Forecasts of days that have passed, made of what came with the published error: for replays.

No archive of open forecasts reaches back as far as weather records do.
"""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from care_planner.climate.forecast_error import DAYS_AHEAD, PUBLISHED_SD_C
from care_planner.climate.outlook import KeptDay
from care_planner.climate.record import WeatherRecord

# How alike the errors of neighbouring days are, and of a day's low and high: starting values.
ALIKE = 0.5


def simulated_issue(record: WeatherRecord, day: int, seed: int) -> list[KeptDay]:
    """The forecast made on a day (ordinal) for it and the ten next: the record's values with an error.

    The same seed and day give the same errors. Days that the record does not hold are left out.
    """
    rng = np.random.default_rng([seed, day])
    kept, low_error = [], float(rng.standard_normal())
    apart = math.sqrt(1 - ALIKE**2)
    for lead in range(DAYS_AHEAD + 1):
        if lead:
            low_error = ALIKE * low_error + apart * float(rng.standard_normal())
        high_error = ALIKE * low_error + apart * float(rng.standard_normal())
        place, sd = day + lead - record.first_day, PUBLISHED_SD_C[max(lead, 1) - 1]
        if not 0 <= place < len(record.tmin_c):
            continue
        low, high = (
            float(record.tmin_c[place]) + sd * low_error,
            float(record.tmax_c[place]) + sd * high_error,
        )
        if not math.isnan(low + high):
            kept.append(KeptDay(day, day + lead, low, max(low, high)))
    return kept


def issued_at(day: int) -> datetime:
    """When a simulated issue of a day is made: its noon, UTC."""
    return datetime.fromordinal(day).replace(tzinfo=UTC) + timedelta(hours=12)


def up_to(record: WeatherRecord, end: int) -> WeatherRecord:
    """The record as it stood before `end` (ordinal, out)."""
    held = max(min(end, record.end_day) - record.first_day, 0)
    return replace(
        record,
        tmin_c=record.tmin_c[:held],
        tmax_c=record.tmax_c[:held],
        tmean_c=record.tmean_c[:held],
        others={name: values[:held] for name, values in record.others.items()},
    )
