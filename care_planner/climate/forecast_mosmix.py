"""MOSMIX_L of Deutscher Wetterdienst, one station's KMZ -> a forecast.

Format: a zip that holds one KML (ISO-8859-1). Time steps of an hour; TN and TX, in kelvin, are the lowest and
the highest of the 12 hours before their step. `-` is no value. E_TTT is the expected absolute error of the
temperature; a normal law's standard deviation is 1.25 times its mean absolute error.
"""

import io
import math
import zipfile
from datetime import datetime, timedelta, tzinfo
from xml.etree import ElementTree

from care_planner.climate.forecast import Forecast, Instant, Period, by_days, instant_of

SERVICE = "dwd-mosmix"
_KELVIN = 273.15
_SD_PER_MEAN_ERROR = 1.25
_LONGEST_KML = 20_000_000
_MOST_TAGS = 100_000  # a station's file has some 2,000; each is an object in memory, however short


def parse_mosmix(body: bytes, zone: tzinfo) -> Forecast | None:
    """The forecast in a body; None where it gives no day. ValueError where it is no such body."""
    root = _kml(body)
    issued = instant_of(_text(root, "IssueTime"))
    steps = [instant_of(step.text or "") for step in _all(root, "TimeStep")]
    if not steps:
        raise ValueError("no time step in it")
    values = _rows(root, len(steps))
    periods = []
    for name in ("TN", "TX"):
        for at, kelvin in zip(steps, values.get(name, ()), strict=False):
            if not math.isnan(kelvin):
                start, value = at - timedelta(hours=12), kelvin - _KELVIN
                low, high = (value, math.nan) if name == "TN" else (math.nan, value)
                periods.append(Period(start, 12.0, low_c=round(low, 2), high_c=round(high, 2)))
    periods += [
        Period(at - timedelta(hours=1), 1.0, rain_mm=rain)
        for at, rain in zip(steps, values.get("RR1c", ()), strict=False)
    ]
    return by_days(SERVICE, issued, periods, _instants(steps, values), zone)


def _instants(steps: list[datetime], values: dict[str, list[float]]) -> list[Instant]:
    unknown = [math.nan] * len(steps)
    error, cloud, wind = (values.get(name, unknown) for name in ("E_TTT", "N", "FF"))
    return [
        Instant(at, _SD_PER_MEAN_ERROR * e, n, f)
        for at, e, n, f in zip(steps, error, cloud, wind, strict=True)
    ]


def _kml(body: bytes) -> ElementTree.Element:
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as archive:
            (name,) = archive.namelist()
            if archive.getinfo(name).file_size > _LONGEST_KML:
                raise ValueError("too large for one station's forecast")
            text = archive.read(name)
        if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
            raise ValueError("not a plain KML")
        if text.count(b"<") > _MOST_TAGS:
            raise ValueError("too many elements for one station's forecast")
        return ElementTree.fromstring(text)
    except ValueError:
        raise
    except Exception as error:
        # A torn zip shows itself as any of half a dozen errors of zipfile, zlib and the XML parser.
        raise ValueError(f"not a KMZ in the expected form ({type(error).__name__}: {error})") from None


def _all(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [element for element in root.iter() if element.tag.rpartition("}")[2] == name]


def _text(root: ElementTree.Element, name: str) -> str:
    found = _all(root, name)
    if not found or not found[0].text:
        raise ValueError(f"no {name} in it")
    return found[0].text


def _rows(root: ElementTree.Element, steps: int) -> dict[str, list[float]]:
    """The values of every element by its name, [steps], nan for `-`."""
    rows = {}
    for element in _all(root, "Forecast"):
        name = next((v for k, v in element.attrib.items() if k.rpartition("}")[2] == "elementName"), "")
        held = [cell for child in element for cell in (child.text or "").split()]
        if len(held) == steps:
            rows[name] = [math.nan if cell == "-" else float(cell) for cell in held]
    return rows
