"""Reference evapotranspiration ET0 (mm a day), after Allen, Pereira, Raes & Smith 1998 (FAO Irrigation and
Drainage Paper 56). Equation numbers are theirs.

Penman-Monteith (eq. 6) where humidity, wind and sun are known; else Hargreaves (eq. 52) from Tmin and Tmax
alone. On a windy coast in winter that gives about half: at Gangneung 1991-2023 it stands to eq. 6 as 0.54 to
0.68 from November to February, 0.82 to 1.11 otherwise.
"""

import math
from dataclasses import dataclass
from datetime import date

# MJ/m2/min (eq. 21); MJ/K4/m2/day (eq. 39).
_SOLAR_CONSTANT, _STEFAN_BOLTZMANN = 0.0820, 4.903e-9
_ALBEDO = 0.23
# Share of the extraterrestrial radiation that reaches the ground when overcast, and what sun adds (eq. 35).
_OVERCAST, _SUNNY = 0.25, 0.50
# From 10 m, where stations measure, to 2 m (eq. 47).
TO_TWO_METRES = 4.87 / math.log(67.8 * 10 - 5.42)


@dataclass(frozen=True)
class Evaporation:
    """mm a day, and whether it is from temperature alone."""

    mm: float
    from_temperature_only: bool


def vapour_pressure_kpa(temperature_c: float) -> float:
    """Saturation vapour pressure (eq. 11)."""
    return 0.6108 * math.exp(17.27 * temperature_c / (temperature_c + 237.3))


def above_the_air_mj(latitude: float, day_of_year: int) -> float:
    """Extraterrestrial radiation Ra, MJ/m2 a day (eq. 21 to 25). Latitude in degrees, north positive."""
    north = math.radians(min(max(latitude, -89.9), 89.9))
    angle = 2 * math.pi * day_of_year / 365
    distance = 1 + 0.033 * math.cos(angle)
    declination = 0.409 * math.sin(angle - 1.39)
    sunset = math.acos(min(max(-math.tan(north) * math.tan(declination), -1.0), 1.0))
    height = sunset * math.sin(north) * math.sin(declination)
    height += math.cos(north) * math.cos(declination) * math.sin(sunset)
    return 24 * 60 / math.pi * _SOLAR_CONSTANT * distance * height


def hargreaves_mm(tmin_c: float, tmax_c: float, above_mj: float, tmean_c: float | None = None) -> float:
    """ET0 from temperature alone (eq. 52). `above_mj`: Ra, MJ/m2 a day."""
    mean = (tmin_c + tmax_c) / 2 if tmean_c is None else tmean_c
    return max(0.0023 * (mean + 17.8) * math.sqrt(max(tmax_c - tmin_c, 0.0)) * 0.408 * above_mj, 0.0)


def penman_monteith_mm(
    tmin_c: float,
    tmax_c: float,
    *,
    vapour_kpa: float,
    wind_2m_m_s: float,
    solar_mj: float,
    above_mj: float,
    elevation_m: float,
) -> float:
    """ET0 (eq. 6) of a day. `vapour_kpa`: actual vapour pressure; `solar_mj`: at the ground, MJ/m2."""
    mean = (tmin_c + tmax_c) / 2
    pressure = 101.3 * math.pow((293 - 0.0065 * elevation_m) / 293, 5.26)  # eq. 7
    psychrometric = 0.000665 * pressure  # eq. 8
    slope = 4098 * vapour_pressure_kpa(mean) / (mean + 237.3) ** 2  # eq. 13
    saturated = (vapour_pressure_kpa(tmin_c) + vapour_pressure_kpa(tmax_c)) / 2  # eq. 12
    net = (1 - _ALBEDO) * solar_mj - _long_wave_mj(
        tmin_c, tmax_c, vapour_kpa, solar_mj, above_mj, elevation_m
    )
    wind = psychrometric * 900 / (mean + 273) * wind_2m_m_s * (saturated - vapour_kpa)
    return max((0.408 * slope * net + wind) / (slope + psychrometric * (1 + 0.34 * wind_2m_m_s)), 0.0)


def solar_from_sunshine_mj(sunshine_h: float, daylight_h: float, above_mj: float) -> float:
    """Radiation at the ground from hours of sunshine (eq. 35), MJ/m2 a day."""
    share = min(sunshine_h / daylight_h, 1.0) if daylight_h > 0 else 0.0
    return (_OVERCAST + _SUNNY * share) * above_mj


def of_day(
    day: int,
    latitude: float,
    elevation_m: float,
    tmin_c: float,
    tmax_c: float,
    *,
    humidity_pct: float = math.nan,
    wind_10m_m_s: float = math.nan,
    solar_mj: float = math.nan,
    sunshine_h: float = math.nan,
) -> Evaporation:
    """ET0 of a day (ordinal) by the better method its values allow; nan without Tmin or Tmax."""
    day_of_year = date.fromordinal(day).timetuple().tm_yday
    above = above_the_air_mj(latitude, day_of_year)
    if math.isnan(solar_mj) and not math.isnan(sunshine_h):
        solar_mj = solar_from_sunshine_mj(sunshine_h, _daylight_h(latitude, day_of_year), above)
    if any(map(math.isnan, (tmin_c, tmax_c))):
        return Evaporation(math.nan, True)
    if any(map(math.isnan, (humidity_pct, wind_10m_m_s, solar_mj))):
        return Evaporation(hargreaves_mm(tmin_c, tmax_c, above), True)
    saturated = (vapour_pressure_kpa(tmin_c) + vapour_pressure_kpa(tmax_c)) / 2
    found = penman_monteith_mm(
        tmin_c,
        tmax_c,
        vapour_kpa=humidity_pct / 100 * saturated,  # eq. 19
        wind_2m_m_s=wind_10m_m_s * TO_TWO_METRES,
        solar_mj=solar_mj,
        above_mj=above,
        elevation_m=elevation_m,
    )
    return Evaporation(found, False)


def _long_wave_mj(
    tmin_c: float, tmax_c: float, vapour_kpa: float, solar_mj: float, above_mj: float, elevation_m: float
) -> float:
    """Net outgoing long-wave radiation (eq. 37 and 39)."""
    clear = (0.75 + 2e-5 * elevation_m) * above_mj
    cloud = 1.35 * min(solar_mj / clear, 1.0) - 0.35 if clear > 0 else 0.05
    heat = _STEFAN_BOLTZMANN * ((tmax_c + 273.16) ** 4 + (tmin_c + 273.16) ** 4) / 2
    return heat * (0.34 - 0.14 * math.sqrt(max(vapour_kpa, 0.0))) * cloud


def _daylight_h(latitude: float, day_of_year: int) -> float:
    """Hours of daylight (eq. 34)."""
    north = math.radians(min(max(latitude, -89.9), 89.9))
    declination = 0.409 * math.sin(2 * math.pi * day_of_year / 365 - 1.39)
    return 24 / math.pi * math.acos(min(max(-math.tan(north) * math.tan(declination), -1.0), 1.0))
