"""The weather behind a plan, in English."""

from care_planner.stages.members import FEW_YEARS, TOO_FEW_YEARS
from care_planner.words.days import day_words
from care_planner.years.common import FewWeatherYears, RecordNote, SeasonsLeftOut, WeatherBehind

YEARS_TOLD = 10  # the record's warming is told in degC in so many years


def weather_words(weather: WeatherBehind) -> str:
    """`50 weather years (1976 to 2025) of the record, observed up to 28 Feb 2027`."""
    forecast = f"; the next days by the forecast ({weather.forecast})" if weather.forecast else ""
    if weather.from_means:
        return f"made from twelve monthly means only, so every date is rough{forecast}"
    span = f"{weather.ends[0]} to {weather.ends[1]}" if weather.ends is not None else "none"
    count = "1 weather year" if weather.years == 1 else f"{weather.years} weather years"
    words = f"{count} ({span}) of the record"
    if weather.observed_until is not None:
        words += f", observed up to {day_words(weather.observed_until)}"
    if weather.warming_c:
        by = weather.warming_c * YEARS_TOLD
        words += f"; the older ones are moved by the place's own {by:+.2f} degC in ten years"
    return (f"few years: {words}" if weather.years < FEW_YEARS else words) + forecast


def record_note_words(note: RecordNote) -> str:
    """What the record says of itself."""
    return f"weather: {note.text}"


def left_out_words(left_out: SeasonsLeftOut) -> str:
    """Which seasons are left out, and why."""
    seasons, why = left_out.seasons, left_out.why
    if len(seasons) == 1:
        return f"weather: season {seasons[0]} is left out: {why}"
    return f"weather: {len(seasons)} seasons ({seasons[0]} to {seasons[-1]}) are left out: {why}"


def few_years_words(few: FewWeatherYears) -> str:
    """That there are few weather years, or too few."""
    years = "no year" if few.years == 0 else "1 year" if few.years == 1 else f"{few.years} years"
    if few.years < TOO_FEW_YEARS:
        return (
            f"weather: {years} of the record can be used; with fewer than {TOO_FEW_YEARS} dates are unknown"
        )
    return f"weather: only {years} of the record can be used; {FEW_YEARS} make a record"
