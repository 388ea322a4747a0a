"""ET0 and rain of a site's days: measured, forecast, or what is usual for the date."""

import math

import numpy as np

from care_planner.climate.gaps import Floats
from care_planner.climate.outlook import Outlook
from care_planner.climate.record import WeatherRecord
from care_planner.outlook.water.evaporation import of_day
from care_planner.outlook.water.pot import PotWeather


class SiteAir:
    """The days of a site. `latitude` in degrees; without a height sea level stands for it."""

    def __init__(
        self, record: WeatherRecord, outlook: Outlook | None, latitude: float, elevation_m: float | None
    ) -> None:
        self.record, self.outlook = record, outlook
        self.latitude, self.elevation_m = latitude, elevation_m or 0.0
        self._measured: tuple[Floats, int] | None = None
        self._usual: dict[int, float] = {}  # asked for the same few days by every pot

    @property
    def et0_mm(self) -> Floats:
        """ET0 of every day of the record, [days]."""
        return self._all()[0]

    @property
    def from_temperature_only(self) -> bool:
        """Whether most days of the record lack humidity, wind or sun."""
        return self._all()[1] * 2 > len(self.record.tmin_c)

    def day(self, day: int) -> PotWeather:
        """A day: measured, else by the forecast and temperature alone, else the usual for its date."""
        place = day - self.record.first_day
        if 0 <= place < len(self.record.tmin_c) and not math.isnan(self.et0_mm[place]):
            rain = self.record.others.get("precip_mm")
            fallen = 0.0 if rain is None or math.isnan(rain[place]) else float(rain[place])
            return PotWeather(day, float(self.et0_mm[place]), fallen, float(self.record.tmax_c[place]))
        expected = self.outlook.of(day) if self.outlook is not None else None
        if expected is not None and not math.isnan(expected.tmin_c + expected.tmax_c):
            found = of_day(day, self.latitude, self.elevation_m, expected.tmin_c, expected.tmax_c)
            rain_mm = 0.0 if math.isnan(expected.rain_mm) else expected.rain_mm
            return PotWeather(day, found.mm, rain_mm, expected.tmax_c, is_forecast=True)
        if day not in self._usual:
            self._usual[day] = self.usual_mm(day)
        return PotWeather(day, self._usual[day], 0.0)

    def usual_mm(self, day: int) -> float:
        """The mean ET0 of the date over the record's years; 0 where it holds none."""
        held = self.et0_mm[self.record.about(day) & ~np.isnan(self.et0_mm)]
        return float(held.mean()) if held.size else 0.0

    def _all(self) -> tuple[Floats, int]:
        if self._measured is None:
            record, others = self.record, self.record.others
            unknown = np.full(len(record.tmin_c), np.nan)
            humidity, wind, solar, sunshine = (
                others.get(name, unknown) for name in ("rh_mean_pct", "wind_m_s", "solar_mj_m2", "sunshine_h")
            )
            found = [
                of_day(
                    record.first_day + place,
                    self.latitude,
                    self.elevation_m,
                    float(record.tmin_c[place]),
                    float(record.tmax_c[place]),
                    humidity_pct=float(humidity[place]),
                    wind_10m_m_s=float(wind[place]),
                    solar_mj=float(solar[place]),
                    sunshine_h=float(sunshine[place]),
                )
                for place in range(len(record.tmin_c))
            ]
            rough = sum(1 for one in found if one.from_temperature_only)
            self._measured = np.array([one.mm for one in found]), rough
        return self._measured
