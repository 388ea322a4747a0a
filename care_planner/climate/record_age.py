"""What a record that ended some time ago cannot say, and the remedy."""

from datetime import date

from care_planner.climate.record import WeatherRecord, counted

# A station's archive lags by some days; two weeks is more than that.
OLD_AFTER_DAYS = 14
_YEAR_DAYS = 365.25


def ended_words(record: WeatherRecord, today: int, source: str) -> str:
    """A sentence or two for the first lines of a plan where the record ended long before `today` (ordinal).

    Empty for a record that still goes on, and for twelve monthly means. `source` is how the collection names
    the record, for the remedy.
    """
    ago = today - record.end_day
    if record.kind != "daily" or ago <= OLD_AFTER_DAYS:
        return ""
    years = int(ago / _YEAR_DAYS)
    long_ago = counted(years, "year") if years else counted(ago, "day")
    last = date.fromordinal(record.end_day - 1).isoformat()
    return (
        f"The weather record ends on {last}, {long_ago} ago. It says nothing about this season, so a warm or "
        "a cold spring moves no date, and notes made after its end teach nothing about a tree's pace. "
        f"Remedy: let a station go on from there: weather: [{source}, {{meteostat: nearest}}]"
    )
