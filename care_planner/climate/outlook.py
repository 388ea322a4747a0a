"""What is expected of the days from the end of the record on, by the latest forecast of each.

Days that have passed but are not in the record yet are there too, by the last forecast made of them: it is no
measurement and never becomes one.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from care_planner.climate.forecast_error import (
    DAYS_AHEAD,
    LEAST_SD_C,
    PAIRS_FOR_SPREAD,
    PUBLISHED,
    ErrorLaw,
    error_law,
    narrowed,
)
from care_planner.climate.gaps import Floats
from care_planner.climate.record import WeatherRecord

# Three years of fifteen days each.
_FEWEST_DAYS = 45
# As the licences want it: MET Norway CC BY 4.0, DWD CC BY 4.0 (changed data), NOAA public.
ATTRIBUTIONS = {
    "met-no": "Data from MET Norway",
    "dwd-mosmix": "Datenbasis: Deutscher Wetterdienst, eigene Bearbeitung",
    "noaa": "Source: NOAA/NWS",
    "simulated": "made of what came, with an error",
}


@dataclass(frozen=True, order=True)
class KeptDay:
    """One day of one issue, as it is kept: `issued_on` and `day` are ordinals of the site; nan = unknown."""

    issued_on: int
    day: int
    tmin_c: float
    tmax_c: float
    rain_mm: float = math.nan
    sd_c: float = math.nan
    cloud_pct: float = math.nan
    wind_m_s: float = math.nan

    @property
    def lead(self) -> int:
        """Days ahead."""
        return self.day - self.issued_on


@dataclass(frozen=True)
class OutlookDay:
    """What is expected of a day: lows and highs with their standard deviations (degC), and from when.

    lead: days ahead that its forecast was made; cloud and wind are the night's.
    """

    day: int
    lead: int
    tmin_c: float
    tmin_sd_c: float
    tmax_c: float
    tmax_sd_c: float
    rain_mm: float = math.nan
    cloud_pct: float = math.nan
    wind_m_s: float = math.nan


@dataclass(frozen=True)
class NightSky:
    """Cloud (%) and wind (m/s) of the night that ended on a day's morning."""

    day: int
    cloud_pct: float
    wind_m_s: float


@dataclass(frozen=True)
class Outlook:
    """Expected days in order. `issued` is when the newest forecast was made; None: there never was one.

    skies: what was last forecast of the nights that have passed.
    """

    service: str
    today: int
    issued: datetime | None
    days: tuple[OutlookDay, ...] = ()
    low_law: ErrorLaw = PUBLISHED
    high_law: ErrorLaw = PUBLISHED
    skies: tuple[NightSky, ...] = ()

    @property
    def attribution(self) -> str:
        """What the service's licence asks to be shown where its forecast is used."""
        return ATTRIBUTIONS.get(self.service, "a file of the folder")

    def of(self, day: int) -> OutlookDay | None:
        """What is expected of a day, if anything is."""
        place = day - self.days[0].day if self.days else -1
        found = self.days[place] if 0 <= place < len(self.days) else None
        return found if found is not None and found.day == day else _among(self.days, day)


def make_outlook(
    kept: Iterable[KeptDay], record: WeatherRecord, today: int, service: str, issued: datetime | None
) -> Outlook:
    """The outlook from the end of the record to ten days after `today`, from forecasts made up to `today`."""
    rows = sorted((row for row in kept if row.issued_on <= today), key=lambda row: (row.issued_on, row.day))
    low_law, high_law = laws(rows, record, today)
    newest = {row.day: row for row in rows}
    start = min(record.end_day, today) if record.kind == "daily" else today
    days = [
        _no_wider_than_climate(_expected(newest[day], low_law, high_law), record)
        for day in range(start, today + DAYS_AHEAD + 1)
        if day in newest and newest[day].lead <= DAYS_AHEAD
    ]
    skies = tuple(
        NightSky(day, row.cloud_pct, row.wind_m_s)
        for day, row in newest.items()
        if day <= today and math.isfinite(row.cloud_pct + row.wind_m_s)
    )
    return Outlook(service, today, issued, tuple(days), low_law, high_law, skies)


def laws(kept: Sequence[KeptDay], record: WeatherRecord, today: int) -> tuple[ErrorLaw, ErrorLaw]:
    """The laws of error of lows and of highs, from kept forecasts of days that the record holds."""
    end = min(today, record.end_day) if record.kind == "daily" else record.first_day
    past = np.array(
        [(row.day, row.lead, row.tmin_c, row.tmax_c) for row in kept if record.first_day <= row.day < end]
    ).reshape(-1, 4)
    places = past[:, 0].astype(np.int64) - record.first_day
    lows = np.column_stack([past[:, 1], past[:, 2], record.tmin_c[places]])
    highs = np.column_stack([past[:, 1], past[:, 3], record.tmax_c[places]])
    return error_law(lows), error_law(highs)


def _expected(row: KeptDay, low_law: ErrorLaw, high_law: ErrorLaw) -> OutlookDay:
    low_bias, low_sd = low_law.at(row.lead)
    high_bias, high_sd = high_law.at(row.lead)
    # The service's own spread stands until the site's is known; it is said of the night's temperature.
    if math.isfinite(row.sd_c) and low_law.pairs[min(max(row.lead, 1), DAYS_AHEAD) - 1] < PAIRS_FOR_SPREAD:
        low_sd = max(row.sd_c, low_sd / 2)
    low, high = row.tmin_c - low_bias, row.tmax_c - high_bias
    return OutlookDay(
        *(row.day, row.lead, low, low_sd, high, high_sd, row.rain_mm, row.cloud_pct, row.wind_m_s)
    )


def _no_wider_than_climate(day: OutlookDay, record: WeatherRecord) -> OutlookDay:
    about = record.about(day.day)
    low_sd, high_sd = (
        narrowed(sd, _spread_c(values[about]))
        for sd, values in ((day.tmin_sd_c, record.tmin_c), (day.tmax_sd_c, record.tmax_c))
    )
    return replace(day, tmin_sd_c=low_sd, tmax_sd_c=high_sd)


def _spread_c(values: Floats) -> float:
    """Standard deviation of the days about a date (degC); nan where they are too few to tell."""
    held = values[np.isfinite(values)]
    return max(float(held.std(ddof=1)), LEAST_SD_C) if held.size >= _FEWEST_DAYS else math.nan


def _among(days: Sequence[OutlookDay], day: int) -> OutlookDay | None:
    return next((found for found in days if found.day == day), None)


def arrays(outlook: Outlook, first_day: int, days: int) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Lows, their sd, highs, their sd and days ahead on a stretch ([days] each, nan = unknown)."""
    laid = np.full((5, days), np.nan)
    for day in outlook.days:
        place = day.day - first_day
        if 0 <= place < days:
            laid[:, place] = (day.tmin_c, day.tmin_sd_c, day.tmax_c, day.tmax_sd_c, day.lead)
    return laid[0], laid[1], laid[2], laid[3], laid[4]
