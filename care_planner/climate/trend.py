"""The record's own warming, taken out of its old years.

An old year is a poor picture of the next one where the climate has warmed since. Method: the mean
temperature of each whole season is fitted with a straight line (least squares); each day is then moved
along that line to the middle of the last whole season, and no further: what lies beyond the end of the
record is not guessed. Nothing is done with fewer than `FEWEST_SEASONS` seasons, nor where the slope is less
than `SURE_TIMES` its standard error, since chance alone makes such slopes.
"""

from dataclasses import dataclass, replace

import numpy as np

from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import usable_years
from care_planner.spans import MEAN_YEAR_DAYS, season_start

FEWEST_SEASONS = 20
SURE_TIMES = 2.0


@dataclass(frozen=True)
class Trend:
    """Warming in degC a year, with its standard error, over so many seasons."""

    per_year_c: float
    error_c: float
    seasons: int

    @property
    def is_sure(self) -> bool:
        """Whether it is told from chance."""
        return self.seasons >= FEWEST_SEASONS and abs(self.per_year_c) > SURE_TIMES * self.error_c


NO_TREND = Trend(0.0, 0.0, 0)


def warming(record: WeatherRecord, south: bool) -> Trend:
    """The straight line through the mean temperatures of the record's whole seasons."""
    seasons = _whole_seasons(record, south)
    if len(seasons) < FEWEST_SEASONS:
        return replace(NO_TREND, seasons=len(seasons))
    means = np.array([_season_mean(record, season, south) for season in seasons])
    years = np.array(seasons, dtype=np.float64)
    spread = years - years.mean()
    slope = float(spread @ (means - means.mean()) / (spread @ spread))
    rest = means - means.mean() - slope * spread
    error = float(np.sqrt(rest @ rest / (len(seasons) - 2) / (spread @ spread)))
    return Trend(slope, error, len(seasons))


def without_warming(record: WeatherRecord, trend: Trend, south: bool) -> WeatherRecord:
    """The record with its old days moved along its trend, or as it is where the trend is not sure."""
    if record.kind != "daily" or not trend.is_sure:
        return record
    last = _whole_seasons(record, south)[-1]
    middle = (season_start(last, south) + season_start(last + 1, south)) / 2
    days = record.first_day + np.arange(len(record.tmin_c))
    shift = trend.per_year_c * np.maximum(middle - days, 0.0) / MEAN_YEAR_DAYS
    return replace(
        record,
        tmin_c=record.tmin_c + shift,
        tmax_c=record.tmax_c + shift,
        tmean_c=record.tmean_c + shift,
    )


def _whole_seasons(record: WeatherRecord, south: bool) -> list[int]:
    """Seasons without much missing: a half known one has another mean."""
    usable, left_out = usable_years(record, south)
    return sorted({*usable} - {season for season, _ in left_out})


def _season_mean(record: WeatherRecord, season: int, south: bool) -> float:
    start = max(season_start(season, south) - record.first_day, 0)
    end = season_start(season + 1, south) - record.first_day
    return float(np.nanmean((record.tmin_c[start:end] + record.tmax_c[start:end]) / 2))
