"""What all trees of a collection share: days, weather years, benches, people; and the weather in words."""

from collections.abc import Sequence
from dataclasses import replace

from care_planner.climate.forecast_blend import with_outlook
from care_planner.climate.outlook import Outlook
from care_planner.climate.record import WeatherRecord
from care_planner.climate.trend import NO_TREND, warming, without_warming
from care_planner.climate.weather_years import WeatherYears, lay_weather_years
from care_planner.collection.model import Collection
from care_planner.spans import HALF_YEAR_DAYS, is_south, season_of, season_start
from care_planner.stages.members import FEW_YEARS, TOO_FEW_YEARS, member_rows
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.weather import BenchWeather, Weather
from care_planner.windows.words import day_words
from care_planner.years.state import Shared
from care_planner.years.workdays import Board, workdays


def share(
    collection: Collection, record: WeatherRecord, today: int, outlook: Outlook | None = None
) -> tuple[Shared, WeatherYears]:
    """What all trees share: the span of days, the weather of the benches, the people's days.

    The `outlook` lays the forecast over the next days of every weather year.
    """
    latitude = collection.site.latitude
    south = is_south(latitude)
    season = season_of(today, south)
    first_day = season_start(season - 1, south) - HALF_YEAR_DAYS - 2
    end_day = season_start(season + 3, south)
    years = _weather_years(record, south, first_day, end_day, today, collection.site.take_out_warming)
    years = with_outlook(years, outlook)
    rows = len(years.labels)
    frame = Frame(
        south,
        latitude,
        season,
        first_day,
        end_day - first_day,
        member_rows(rows),
        day_lengths(latitude, first_day, end_day - first_day),
    )
    benches: dict[str, Weather] = {
        name: BenchWeather(years, bench) for name, bench in sorted(collection.benches.items())
    }
    people = collection.people
    days = workdays(first_day, frame.days, people.is_away, people.is_favourite)
    risks = {name: float(getattr(collection.risk, name)) for name in type(collection.risk).model_fields}
    until = season_start(season + 2, south) - 1
    return Shared(frame, rows, benches, {}, days, Board(), risks, today, until), years


def _weather_years(
    record: WeatherRecord, south: bool, first_day: int, end_day: int, today: int, take_out_warming: bool
) -> WeatherYears:
    trend = warming(record, south) if take_out_warming else NO_TREND
    old = without_warming(record, trend, south)
    years = lay_weather_years(record, south, first_day, end_day, today, old)
    return replace(years, warming_c=trend.per_year_c if trend.is_sure else 0.0)


def weather_words(record: WeatherRecord, years: WeatherYears, outlook: Outlook | None = None) -> str:
    """The weather behind every date."""
    forecast = f"; the next days by the forecast ({outlook.attribution})" if outlook and outlook.days else ""
    if record.kind == "monthly":
        return f"made from twelve monthly means only, so every date is rough{forecast}"
    labels = sorted(years.labels)
    span = f"{labels[0]} to {labels[-1]}" if labels else "none"
    count = "1 weather year" if len(labels) == 1 else f"{len(labels)} weather years"
    words = f"{count} ({span}) of the record"
    if years.observed_until > years.first_day:
        words += f", observed up to {day_words(years.observed_until - 1)}"
    if years.warming_c:
        words += (
            f", older years moved up along the record's own {years.warming_c * 10:+.2f} degC in ten years"
        )
    if len(labels) < FEW_YEARS:
        words = f"few years: {words}"
    return words + forecast


def weather_problems(record: WeatherRecord, years: WeatherYears) -> list[str]:
    """What a person should be told of the record."""
    count = len(years.labels)
    problems = [f"weather: {note}" for note in record.notes]
    problems += _seasons_left_out(years.left_out)
    if count < TOO_FEW_YEARS:
        problems.append(f"weather: {count} usable years, fewer than {TOO_FEW_YEARS}: dates are unknown")
    elif count < FEW_YEARS:
        problems.append(f"weather: few years: {count} usable, {FEW_YEARS} make a record")
    return problems


def _seasons_left_out(left_out: Sequence[tuple[int, str]]) -> list[str]:
    by_reason: dict[str, list[int]] = {}
    for season, why in left_out:
        # A leap year's day more is no reason of its own.
        by_reason.setdefault(why.replace(" of 366 ", " of 365 "), []).append(season)
    return [
        f"weather: season {seasons[0]} is left out: {why}"
        if len(seasons) == 1
        else f"weather: {len(seasons)} seasons ({seasons[0]} to {seasons[-1]}) are left out: {why}"
        for why, seasons in by_reason.items()
    ]
