"""Locationforecast 2.0 of MET Norway, the `complete` form in JSON -> a forecast.

Format: the service's documentation (github.com/metno/weatherapi-docs, doc/ForecastJSON.md; CC BY 4.0).
Steps are hourly at first and 6-hourly later. Rain comes from the hour where there is one, else from the six.
"""

import json
import math
from datetime import tzinfo
from typing import Any

from care_planner.climate.forecast import Forecast, Instant, Period, by_days, instant_of

SERVICE = "met-no"
# From the 10th to the 90th percentile a normal law has this many standard deviations.
_LARGEST = 1e9  # beyond any unit's values; an integer without end is no float
_P10_TO_P90 = 2.563


def parse_metno(body: bytes, zone: tzinfo) -> Forecast | None:
    """The forecast in a body; None where it gives no day. ValueError where it is no such body."""
    try:
        properties = json.loads(body)["properties"]
        issued = instant_of(properties["meta"]["updated_at"])
        series = properties["timeseries"]
        periods = [period for step in series for period in _periods(step)]
        instants = [_instant(step) for step in series]
    except (KeyError, TypeError, AttributeError, UnicodeDecodeError, RecursionError) as error:
        raise ValueError(f"not a forecast in the expected form ({type(error).__name__}: {error})") from None
    return by_days(SERVICE, issued, periods, instants, zone)


def _periods(step: dict[str, Any]) -> list[Period]:
    data, start = step["data"], instant_of(step["time"])
    six = data.get("next_6_hours", {}).get("details", {})
    one = data.get("next_1_hours", {}).get("details", {})
    found = []
    if "air_temperature_min" in six or "air_temperature_max" in six:
        low, high = number(six.get("air_temperature_min")), number(six.get("air_temperature_max"))
        found.append(Period(start, 6.0, low_c=low, high_c=high))
    if "precipitation_amount" in one:
        found.append(Period(start, 1.0, rain_mm=number(one["precipitation_amount"])))
    elif "next_1_hours" not in data and "precipitation_amount" in six:
        found.append(Period(start, 6.0, rain_mm=number(six["precipitation_amount"])))
    return found


def _instant(step: dict[str, Any]) -> Instant:
    details = step["data"]["instant"]["details"]
    low, high = (number(details.get(f"air_temperature_percentile_{n}")) for n in (10, 90))
    return Instant(
        instant_of(step["time"]),
        (high - low) / _P10_TO_P90,
        number(details.get("cloud_area_fraction")),
        number(details.get("wind_speed")),
    )


def number(value: object) -> float:
    """A number, or nan for what is none."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < _LARGEST:
        return math.nan
    return float(value)
