"""Weather of a station through the meteostat library, kept in the collection's own store.

The store only ever gains days. Years that were not answered are remembered there and asked for again.
"""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from care_planner.climate.fetch_library import SOME_YEAR, fetch_days, meteostat_library, nothing_yet
from care_planner.climate.read_store import is_station_id, read_nearest, read_station
from care_planner.climate.record import WeatherRecord, counted
from care_planner.climate.station import Station, merge_station, station_record
from care_planner.climate.write_store import write_nearest, write_station

YEARS_BACK = 40
ENOUGH_DAYS = 3650
NEAREST_WITHIN_M = 50_000
# 100 m up or down counts like 10 km away when stations are compared: common practice, no source.
KM_A_METRE_OF_HEIGHT = 0.1
_STATIONS_TRIED = 4
_YEARS_A_CALL = 10


class _Unanswered(Exception):
    """The service gave nothing that can be used; the text says what happened."""


def fetch_station(
    store: Path,
    *,
    station: str | None,
    latitude: float,
    longitude: float,
    elevation_m: float | None,
    today: date,
) -> tuple[WeatherRecord | None, list[str]]:
    """The record of a station (None: the nearest with enough days), fetched into `store` up to yesterday.

    Degrees north and east, metres. What the store holds is never made less, is used where nothing can be
    fetched, and its age is then told. Returns the record, or None where there is neither, and messages for
    people. A second call on the same day asks for nothing that was answered.
    """
    chosen = station if station is not None else read_nearest(store, latitude, longitude)
    stored = read_station(store, chosen) if chosen else None
    asked_since = stored.fetched_on - today.toordinal() if stored else -1
    if stored and (asked_since > 0 or (asked_since == 0 and not stored.years_again)):
        return station_record(stored), []
    messages: list[str] = []
    found = None
    try:
        if chosen and not is_station_id(chosen):
            raise _Unanswered(f"{chosen!r} is no station id; allowed: letters and digits, such as 06451")
        with meteostat_library() as (library, failed_years):
            if stored:
                found = _fetch_years(library, stored, _years_to_ask(stored, today), today, failed_years)
            elif chosen:
                found = _fetch_named(library, chosen, today, failed_years)
            else:
                found = _fetch_nearest(
                    library, (latitude, longitude, elevation_m), today, failed_years, messages
                )
    except _Unanswered as error:
        messages.append(str(error))
    except ModuleNotFoundError as missing:
        messages.append(f"fetched weather needs {missing.name}: pip install '.[meteostat]'")
    except Exception as error:
        # The library lets through whatever pandas, sqlite or the network raise; none may end a plan.
        messages.append(f"the weather could not be fetched ({type(error).__name__}: {error})")
    if found is None:
        messages.append(_instead(stored, today))
        return (station_record(stored) if stored else None), messages
    merged = merge_station(stored, found) if stored else found
    messages += _said(merged, stored)
    try:
        write_station(store, merged)
        if station is None:
            write_nearest(store, latitude, longitude, merged.id)
    except OSError as error:
        messages.append(f"the fetched weather could not be kept in {store.name} ({error.strerror or error})")
    return station_record(merged), messages


def _years_to_ask(stored: Station, today: date) -> list[int]:
    """The years not finished in the store and, for corrections, the last of those that are."""
    last = date.fromordinal(int(stored.days[-1])).year if len(stored.days) else today.year - YEARS_BACK
    return sorted({*range(last - 1, today.year + 1), *stored.years_again})


def _fetch_named(library: Any, station: str, today: date, failed: set[int]) -> Station:
    try:
        known = library.stations.meta(station)
        name = (known.name or "") if known else None
    except Exception:
        # Without the list of stations the days may still be there: the id is enough for them.
        name = ""
    if name is None:
        raise _Unanswered(f"the weather service knows no station {station}")
    years = list(range(today.year - YEARS_BACK + 1, today.year + 1))
    return _fetch_years(library, nothing_yet(station, name), years, today, failed)


def _fetch_nearest(
    library: Any,
    place: tuple[float, float, float | None],
    today: date,
    failed: set[int],
    messages: list[str],
) -> Station:
    """The first station with enough days, in order of distance and height; else the one with most days."""
    latitude, longitude, elevation_m = place
    point = library.Point(latitude, longitude, None if elevation_m is None else round(elevation_m))
    near = library.stations.nearby(point, radius=NEAREST_WITHIN_M, limit=20)
    if near.empty:
        raise _Unanswered(f"no station within {NEAREST_WITHIN_M // 1000} km; name one in weather: meteostat")
    height = near["elevation"].astype(float).fillna(elevation_m or 0.0)
    higher = height - (height if elevation_m is None else elevation_m)
    order = (near["distance"] / 1000 + higher.abs() * KM_A_METRE_OF_HEIGHT).sort_values(kind="stable").index
    years = list(range(today.year - YEARS_BACK + 1, today.year + 1))
    best, most = None, 0
    for station in order[:_STATIONS_TRIED]:
        try:
            name = str(near.loc[station, "name"])
            found = _fetch_years(library, nothing_yet(str(station), name), years, today, failed)
        except _Unanswered as error:
            messages.append(str(error))
            continue
        if found.known_days > most:
            best, most = found, found.known_days
        if most >= ENOUGH_DAYS:
            break
    if best is None:
        raise _Unanswered("no station nearby gave any day")
    km = near.loc[best.id, "distance"] / 1000
    messages.append(f"the nearest station with days is {best.title}, {km:.0f} km away")
    if abs(higher[best.id]) >= 50:
        relation = "higher" if higher[best.id] > 0 else "lower"
        messages.append(f"it lies {abs(higher[best.id]):.0f} m {relation} than the site")
    return best


def _fetch_years(library: Any, station: Station, years: list[int], today: date, failed: set[int]) -> Station:
    """The station's days in these years, the newest piece first. `_Unanswered` if there is none."""
    failed.clear()
    found = nothing_yet(station.id, station.name)
    left = years
    while left:
        piece = [year for year in left if year > left[-1] - _YEARS_A_CALL]
        left = left[: -len(piece)]
        start, end = date(piece[0], 1, 1), min(date(piece[-1], 12, 31), today - timedelta(days=1))
        if start <= end:
            found = merge_station(found, fetch_days(library, station, start, end))
        if SOME_YEAR in failed:
            failed.update(piece)
        if failed.issuperset(piece):
            # Nothing of this piece was answered: the service is out of reach, the rest would be too.
            failed.update(left)
            break
    if not found.known_days:
        why = "the service did not answer" if failed else "the service has no daily Tmin and Tmax of it"
        raise _Unanswered(f"no day of station {station.title} could be fetched: {why}")
    again = tuple(sorted(failed.intersection(years)))
    return replace(found, fetched_on=today.toordinal(), years_again=again)


def _said(merged: Station, stored: Station | None) -> list[str]:
    gained = merged.known_days - (stored.known_days if stored else 0)
    messages = [f"fetched {counted(gained, 'new day')} of station {merged.title}"]
    if merged.dropped_days:
        messages.append(
            f"{counted(merged.dropped_days, 'fetched day')} with values that cannot be: taken as missing"
        )
    if merged.years_again:
        years = ", ".join(map(str, merged.years_again))
        messages.append(f"not answered, asked for again next time: {years}")
    return messages


def _instead(stored: Station | None, today: date) -> str:
    record = station_record(stored) if stored else None
    if stored is None or record is None:
        return "no weather is stored yet: a plan needs the network once, or a weather file"
    last = record.end_day - 1
    ends = f"it ends on {date.fromordinal(last)}, {counted(today.toordinal() - last, 'day')} ago"
    return f"the stored weather of station {stored.title} is used; {ends}"
