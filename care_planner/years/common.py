"""What all trees of a collection share: days, weather years, benches, people; and the weather behind."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from care_planner.climate.forecast_blend import forecast_says, with_outlook
from care_planner.climate.outlook import Outlook
from care_planner.climate.record import WeatherRecord
from care_planner.climate.trend import NO_TREND, warming, without_warming
from care_planner.climate.weather_years import WeatherYears, lay_weather_years, usable_years
from care_planner.collection.model import Collection
from care_planner.spans import HALF_YEAR_DAYS, is_south, monday_of, season_of, season_start
from care_planner.stages.members import FEW_YEARS, member_rows
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.weather import BenchWeather, Weather
from care_planner.windows.reason import Reason
from care_planner.years.state import Shared
from care_planner.years.workdays import Board, workdays


@dataclass(frozen=True, slots=True)
class WeatherBehind:
    """The weather that every date of a plan rests on.

    `ends` are the first and last weather year, None without any; `observed_until` an ordinal, the last day
    that was observed; `warming_c` degC a year that older years were moved up by.
    """

    from_means: bool
    years: int
    ends: tuple[int, int] | None
    observed_until: int | None
    warming_c: float
    forecast: str = ""  # whom the licence of the forecast asks to name, where one has a say in the next days


@dataclass(frozen=True, slots=True)
class RecordNote(Reason):
    """What the record says of itself."""

    text: str


@dataclass(frozen=True, slots=True)
class SeasonsLeftOut(Reason):
    """Seasons of the record that are no weather years, and why."""

    seasons: tuple[int, ...]
    why: str


@dataclass(frozen=True, slots=True)
class FewWeatherYears(Reason):
    """So many weather years are not enough."""

    years: int


def shared_by_all(
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
    usual, years = years, with_outlook(years, outlook)
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
    felt: dict[tuple[float | None, ...], tuple[str, Weather]] = {}
    benches = {
        name: felt.setdefault(
            (bench.offset_c, bench.floor_c, bench.vent_c), (name, BenchWeather(years, bench))
        )
        for name, bench in sorted(collection.benches.items())
    }
    people = collection.people
    days = workdays(first_day, frame.days, people.nobody_works, people.is_favourite)
    walks = {people.walk_day(day) for day in range(monday_of(first_day), end_day, 7)}
    walkdays = workdays(first_day, frame.days, people.nobody_works, walks.__contains__)
    risks = {name: float(getattr(collection.risk, name)) for name in type(collection.risk).model_fields}
    until = season_start(season + 2, south) - 1
    return Shared(
        frame,
        rows,
        {name: weather for name, (_, weather) in benches.items()},
        {name: first for name, (first, _) in benches.items()},
        {},
        days,
        walkdays,
        Board(),
        risks,
        today,
        until,
        people.told_hours,
        collection.silence,
        forecast_says(usual, years, today) if outlook is not None else None,
    ), years


def _weather_years(
    record: WeatherRecord, south: bool, first_day: int, end_day: int, today: int, take_out_warming: bool
) -> WeatherYears:
    trend = warming(record, south) if take_out_warming else NO_TREND
    old = without_warming(record, trend, south)
    years = lay_weather_years(record, south, first_day, end_day, today, old)
    return replace(years, warming_c=trend.per_year_c if trend.is_sure else 0.0)


def weather_behind(
    record: WeatherRecord, years: WeatherYears, outlook: Outlook | None = None
) -> WeatherBehind:
    """The weather behind every date."""
    labels = sorted(years.labels)
    until = years.observed_until - 1 if years.observed_until > years.first_day else None
    ends = (labels[0], labels[-1]) if labels else None
    forecast = outlook.attribution if outlook is not None and outlook.days else ""
    return WeatherBehind(record.kind == "monthly", len(labels), ends, until, years.warming_c, forecast)


def weather_notices(record: WeatherRecord, years: WeatherYears) -> list[Reason]:
    """What a person should be told of the record."""
    count = len(years.labels)
    found: list[Reason] = [RecordNote(note) for note in record.notes]
    found += _seasons_left_out(years.left_out)
    if count < FEW_YEARS:
        found.append(FewWeatherYears(count))
    return found


def _seasons_left_out(left_out: Sequence[tuple[int, str]]) -> list[Reason]:
    by_reason: dict[str, list[int]] = {}
    for season, why in left_out:
        # A leap year's day more is no reason of its own.
        by_reason.setdefault(why.replace(" of 366 ", " of 365 "), []).append(season)
    return [SeasonsLeftOut(tuple(seasons), why) for why, seasons in by_reason.items()]


def usable_weather_years(collection: Collection, record: WeatherRecord) -> int:
    """How many seasons of the record stand behind every date."""
    return len(usable_years(record, is_south(collection.site.latitude))[0])
