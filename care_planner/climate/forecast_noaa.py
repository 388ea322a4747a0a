"""api.weather.gov of the US National Weather Service: a grid's data in JSON -> a forecast.

Values stand beside an ISO 8601 interval, such as 2022-02-05T00:00:00+00:00/PT14H. minTemperature and
maxTemperature are the night's and the day's extremes.
"""

import json
import re
from datetime import timedelta, tzinfo
from typing import Any

from care_planner.climate.forecast import Forecast, Instant, Period, by_days, instant_of
from care_planner.climate.forecast_metno import number

SERVICE = "noaa"
_DURATION = re.compile(r"P(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?)?")
_MOST_HOURS = 60 * 24
_FAHRENHEIT, _KMH = "wmoUnit:degF", 3.6


def parse_noaa(body: bytes, zone: tzinfo) -> Forecast | None:
    """The forecast in a grid's data; None where it gives no day. ValueError where it is no such body."""
    try:
        properties = json.loads(body)["properties"]
        issued = instant_of(properties["updateTime"])
        periods = [
            *(Period(s, h, low_c=v) for s, h, v in _values(properties, "minTemperature")),
            *(Period(s, h, high_c=v) for s, h, v in _values(properties, "maxTemperature")),
            *(Period(s, h, rain_mm=v) for s, h, v in _values(properties, "quantitativePrecipitation")),
        ]
        instants = [Instant(at, cloud_pct=v) for at, v in _by_hour(properties, "skyCover")]
        instants += [Instant(at, wind_m_s=v / _KMH) for at, v in _by_hour(properties, "windSpeed")]
    except (KeyError, TypeError, AttributeError, UnicodeDecodeError, RecursionError) as error:
        raise ValueError(f"not a forecast in the expected form ({type(error).__name__}: {error})") from None
    return by_days(SERVICE, issued, periods, instants, zone)


def grid_address(body: bytes) -> str:
    """Where the grid's data of a point are, from the answer to `/points/`. ValueError where it is none."""
    try:
        found = json.loads(body)["properties"]["forecastGridData"]
    except (KeyError, TypeError, UnicodeDecodeError, RecursionError):
        raise ValueError("the point has no forecast grid") from None
    if not isinstance(found, str) or not found.startswith(("https://", "http://")):
        raise ValueError("the point has no forecast grid")
    return found


def hours_of(duration: str) -> float:
    """The hours of an ISO 8601 duration such as PT14H or P1DT6H. ValueError for another form."""
    found = _DURATION.fullmatch(duration)
    if not found or not any(found.groups()):
        raise ValueError(f"{duration!r} is no duration")
    days, hours, minutes = (int(part or 0) for part in found.groups())
    if days * 24 + hours > _MOST_HOURS or minutes > _MOST_HOURS:
        raise ValueError(f"{duration!r} is too long for a forecast")
    return days * 24 + hours + minutes / 60


def _values(properties: dict[str, Any], name: str) -> list[tuple[Any, float, float]]:
    """(start, hours, value) of a layer, temperatures in degC."""
    layer = properties.get(name, {})
    fahrenheit = layer.get("uom") == _FAHRENHEIT
    found = []
    for cell in layer.get("values", ()):
        start, _, duration = cell["validTime"].partition("/")
        value = number(cell["value"])
        found.append((instant_of(start), hours_of(duration), (value - 32) / 1.8 if fahrenheit else value))
    return found


def _by_hour(properties: dict[str, Any], name: str) -> list[tuple[Any, float]]:
    return [
        (start + timedelta(hours=hour), value)
        for start, hours, value in _values(properties, name)
        for hour in range(int(hours))
    ]
