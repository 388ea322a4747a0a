"""Which weather a plan goes by, and what another would have given: said in one line, on one date.

The date is that of the last frost with a chance of one year in ten, since bringing trees out waits for it.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from care_planner.climate.frost import percentile_day
from care_planner.climate.monthly import monthly_record
from care_planner.climate.record import WeatherRecord
from care_planner.climate.trend import warming
from care_planner.collection.model import Collection
from care_planner.collection.site import Bench
from care_planner.folder.read_folder import Inputs
from care_planner.show.frost import nights
from care_planner.show.wrapping import wrapped
from care_planner.spans import is_south
from care_planner.words.days import MONTHS, short_day
from care_planner.years.common import shared_by_all, usable_weather_years

_HERE = "the record"
_FROST_C, _CHANCE = 0.0, 0.1


def one_weather_lines(inputs: Inputs, today: int) -> list[str]:
    """The weather of the plan of a day (ordinal), and the last frost by it and by what stood beside it."""
    collection, record = inputs.collection, inputs.record
    said = _used(collection, record)
    dates = [(name, _last_frost(held, one, today)) for name, held, one in _choices(collection, record)]
    (_, own), *others = [(name, day) for name, day in dates if np.isfinite(day)] or [("", np.nan)]
    if np.isfinite(dates[0][1]):
        beside = ", ".join(f"{name} {short_day(day)}" for name, day in others)
        said += f". One year in ten still has frost (0 degC) on or after {short_day(own)}"
        said += f"; {beside}" if beside else ""
    return wrapped(f"Weather: {said}.")


def _used(collection: Collection, record: WeatherRecord) -> str:
    if record.kind == "monthly":
        return "twelve monthly means, with days drawn around them: dates may be a week off, rare frosts two"
    years = usable_weather_years(collection, record)
    words = f"{years} {'year' if years == 1 else 'years'} of {record.source}"
    trend = warming(record, is_south(collection.site.latitude))
    if not trend.is_sure:
        return f"{words}, as they were: no warming in them that chance alone would not make"
    by = f"{trend.per_year_c * 10:+.2f} degC in ten years"
    if collection.site.take_out_warming:
        return f"{words}, old ones moved up along their own {by}"
    return f"{words}, as they were, though they warmed by {by}"


def _choices(
    collection: Collection, record: WeatherRecord
) -> Iterator[tuple[str, Collection, WeatherRecord]]:
    """The plan's own weather first, then what else could have stood for the same place."""
    bare = collection.model_copy(update={"benches": {_HERE: Bench()}})
    yield "", bare, record
    if record.kind == "monthly":
        return
    if warming(record, is_south(collection.site.latitude)).is_sure:
        other = not collection.site.take_out_warming
        site = bare.site.model_copy(update={"take_out_warming": other})
        name = "with the years moved up" if other else "with the years as they were"
        yield name, bare.model_copy(update={"site": site}), record
    means = _means(record)
    if means is not None:
        yield "by monthly means", bare, means


def _means(record: WeatherRecord) -> WeatherRecord | None:
    """A record drawn around this one's own monthly means; None where a month is never known."""
    days = np.arange(record.first_day, record.end_day) - 719163
    months = days.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) % len(MONTHS)
    known = ~np.isnan(record.tmin_c + record.tmax_c)
    held = [known & (months == month) for month in range(len(MONTHS))]
    if not all(days_of.any() for days_of in held):
        return None
    low, high = (
        [float(values[days_of].mean()) for days_of in held] for values in (record.tmin_c, record.tmax_c)
    )
    return replace(monthly_record(low, high), notes=())


def _last_frost(collection: Collection, record: WeatherRecord, today: int) -> float:
    """The day (ordinal) from which on one year in ten still has a frost; nan or inf where it has none."""
    shared, _ = shared_by_all(collection, record, today)
    days = nights("last", _FROST_C, _HERE, shared)
    known = days[~np.isnan(days)]
    return percentile_day(known, _CHANCE, which="last") if known.size else np.nan
