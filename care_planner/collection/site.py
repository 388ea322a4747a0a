"""Where the collection stands: the place, its weather, its benches."""

import re
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from care_planner.typed_yaml.models import Allowed, Label, Mistake, Number, Strict, Text, YesNo, unfit, wrong

# No place's monthly mean of daily highs is above 50 degC (the hottest are near 47; from memory).
HOTTEST_MONTH_C = 50.0
MONTHS = 12
_STATION = re.compile(r"[A-Za-z0-9]{1,10}")


def _inside_folder(value: object) -> object:
    if isinstance(value, str):
        parts = value.split("/")
        if "\\" in value or ":" in value or any(part in ("", ".", "..") for part in parts):
            raise unfit("which leads out of the folder", "allowed: the name of a file inside the folder")
    return value


FileName = Annotated[Text, BeforeValidator(_inside_folder)]
"""A file inside the collection's folder, parts joined by `/`; no path can lead out of it."""

Monthly = Annotated[tuple[Number, ...], Field(min_length=MONTHS, max_length=MONTHS)]


class MonthlyMeans(Strict):
    """Twelve means, January first, of each day's lowest and highest air temperature (degC)."""

    tmin_c: Monthly = Field(description="monthly mean of daily lows, degC, January to December")
    tmax_c: Monthly = Field(description="monthly mean of daily highs, degC, January to December")

    @model_validator(mode="after")
    def _plausible(self) -> Self:
        pairs = list(zip(self.tmin_c, self.tmax_c, strict=True))
        found = [
            Mistake(f"tmin_c of month {n} is {low:g}, above its tmax_c of {high:g}", at=("tmin_c", n - 1))
            for n, (low, high) in enumerate(pairs, start=1)
            if low > high
        ]
        if max(self.tmax_c) > HOTTEST_MONTH_C:
            what = f"tmax_c holds {max(self.tmax_c):g}, hotter than any month on record"
            found.append(Mistake(what, "allowed: degrees Celsius; this looks like Fahrenheit", ("tmax_c",)))
        if found:
            raise wrong(*found)
        return self


class MonthlyWeather(Strict):
    """Only twelve monthly means are known."""

    monthly: MonthlyMeans


def _station(value: object) -> object:
    if isinstance(value, str) and not _STATION.fullmatch(value):
        raise unfit()
    return value


Station = Annotated[
    str,
    BeforeValidator(_station),
    Allowed("nearest, or a station's id such as 06451"),
    WithJsonSchema({"type": ["string", "integer"], "pattern": "^[A-Za-z0-9]{1,10}$"}),
]


class StationWeather(Strict):
    """Daily weather to be fetched from a public archive: `nearest`, or a station's id there."""

    meteostat: Station


class GrowingWeather(Strict):
    """A CSV that a weather station of one's own adds to: bad rows are told and become gaps."""

    growing: FileName


OneWeather = FileName | StationWeather | GrowingWeather
MOST_SOURCES = 4


class Site(Strict):
    """The place. Latitude and longitude in degrees, north and east positive."""

    name: Text = "collection"
    latitude: Number = Field(ge=-90, le=90, description="degrees, north positive")
    longitude: Number = Field(ge=-180, le=180, description="degrees, east positive")
    elevation_m: Number | None = Field(default=None, ge=-450, le=9000, description="metres above sea level")
    timezone: Annotated[Text, Allowed("an IANA time zone such as Europe/Brussels")] = Field(
        description="IANA time zone, such as Europe/Brussels"
    )
    weather: Annotated[
        FileName
        | MonthlyWeather
        | StationWeather
        | GrowingWeather
        | Annotated[tuple[OneWeather, ...], Field(min_length=1, max_length=MOST_SOURCES)],
        Allowed(
            "a CSV file inside the folder, {monthly: ...}, {meteostat: ...}, {growing: FILE}, "
            "or a list such as [weather.csv, {meteostat: nearest}]"
        ),
    ] = Field(
        description="a CSV or CSV.gz file inside the folder, twelve monthly means, a station to fetch, a CSV "
        "that grows, or a list: each goes on where the one before ends"
    )

    @property
    def sources(self) -> "tuple[OneWeather | MonthlyWeather, ...]":
        """What the weather comes from, the oldest first."""
        return self.weather if isinstance(self.weather, tuple) else (self.weather,)

    @property
    def weather_files(self) -> tuple[str, ...]:
        """The files in the folder that the weather is read from."""
        files = [w.growing if isinstance(w, GrowingWeather) else w for w in self.sources]
        return tuple(file for file in files if isinstance(file, str))

    take_out_warming: YesNo = Field(
        default=True, description="move old weather years up along the record's own warming, to its end"
    )


class Bench(Strict):
    """A place a tree stands: its offset from the weather record; a shelter has a floor and a vent."""

    offset_c: Number = Field(
        default=0.0, ge=-15, le=15, description="warmer (+) or colder (-) than the record, degC"
    )
    floor_c: Number | None = Field(
        default=None, ge=-30, le=30, description="the air never gets colder than this, degC"
    )
    vent_c: Number | None = Field(
        default=None, ge=-10, le=45, description="it is vented from this temperature on, degC"
    )
    stands: Literal["ground", "raised", "under-eaves"] | None = Field(
        default=None, description="how it stands under the sky: on a clear, still night that makes it colder"
    )

    @model_validator(mode="after")
    def _floor_under_vent(self) -> Self:
        if self.floor_c is not None and self.vent_c is not None and self.floor_c > self.vent_c:
            what = f"floor_c is {self.floor_c:g}, above vent_c of {self.vent_c:g}"
            raise wrong(Mistake(what, "allowed: a floor at or below the vent", ("floor_c",)))
        return self


def _nothing_said(value: object) -> object:
    """`open:` with nothing after it is a bench like the record."""
    return {} if value is None else value


Benches = Annotated[
    dict[Label, Annotated[Bench, BeforeValidator(_nothing_said, json_schema_input_type=Bench | None)]],
    Field(min_length=1),
]
