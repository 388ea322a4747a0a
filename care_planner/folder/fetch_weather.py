"""The weather that a collection names: its files and stations, read or fetched, joined into one record."""

from collections.abc import Mapping, Sequence
from datetime import date
from functools import reduce
from pathlib import Path

from care_planner.climate.fetch_meteostat import fetch_station
from care_planner.climate.join import join_records
from care_planner.climate.monthly import monthly_record
from care_planner.climate.record import WeatherRecord
from care_planner.climate.write_growing import take_new_rows
from care_planner.collection.read_collection import COLLECTION_FILE
from care_planner.collection.site import GrowingWeather, MonthlyWeather, OneWeather, Site, StationWeather
from care_planner.problems import NoWeather, Problem, ProblemsFound

WEATHER_STORE = "weather"


def fetch_weather(
    folder: Path, site: Site, today: date, files: Mapping[str, WeatherRecord]
) -> tuple[WeatherRecord, list[str]]:
    """The record of a site and what to tell of it. Raises ProblemsFound, or NoWeather.

    `files` are the records of those sources that are plain files, by name.
    Of several sources each goes on where the one before ends. One that goes on and cannot be had is told: the
    record then ends where the one before does.
    """
    parts: list[WeatherRecord] = []
    messages: list[str] = []
    for source in site.sources:
        record, said = (files[source], []) if isinstance(source, str) else _one(folder, site, source, today)
        messages += said
        if record is not None:
            parts.append(record)
        elif not parts:
            raise NoWeather("; ".join(said) or "no weather could be fetched")
    return reduce(join_records, parts), messages


def weather_words(sources: Sequence[OneWeather | MonthlyWeather]) -> str:
    """The sources as they may stand in `weather: [...]`."""
    return ", ".join(_as_written(source) for source in sources)


def _as_written(source: OneWeather | MonthlyWeather) -> str:
    if isinstance(source, str):
        return source
    if isinstance(source, StationWeather):
        return f'{{meteostat: "{source.meteostat}"}}'
    return f"{{growing: {source.growing}}}" if isinstance(source, GrowingWeather) else "{monthly: ...}"


def _one(
    folder: Path, site: Site, source: StationWeather | GrowingWeather | MonthlyWeather, today: date
) -> tuple[WeatherRecord | None, list[str]]:
    if isinstance(source, MonthlyWeather):
        return monthly_record(source.monthly.tmin_c, source.monthly.tmax_c), []
    if isinstance(source, StationWeather):
        return fetch_station(
            folder / WEATHER_STORE,
            station=None if source.meteostat == "nearest" else source.meteostat,
            latitude=site.latitude,
            longitude=site.longitude,
            elevation_m=site.elevation_m,
            today=today,
        )
    found, messages, problems = take_new_rows(
        folder / source.growing, source.growing, folder / WEATHER_STORE, today
    )
    if found is None:
        raise ProblemsFound(problems or [Problem(COLLECTION_FILE, 0, "the weather cannot be read")])
    return found, messages
