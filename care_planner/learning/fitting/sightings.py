"""First flowers of a collection, as rows that others may have: a place, no names."""

import csv
import io
from collections.abc import Iterable
from dataclasses import astuple, dataclass, fields
from datetime import date

import numpy as np

from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.collection.site import Site
from care_planner.journal.model import Entry
from care_planner.learning.fitting.read_records import TEMPERATURES
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import is_south
from care_planner.stages.noted import history_of

# BBCH 60: first flowers open; 92: leaves begin to colour (Meier 2001).
FLOWERS, COLOUR = "60", "92"


@dataclass(frozen=True, order=True)
class Sighting:
    """One event seen, cells as in a file. `station`: the place; `group`: early, mid, late or nothing."""

    station: str
    year: str
    event: str
    date: str
    taxon: str
    latitude: str
    longitude: str
    group: str


COLUMNS = tuple(field.name for field in fields(Sighting))


def own_sightings(collection: Collection, entries: Iterable[Entry], rulebook: Rulebook) -> list[Sighting]:
    """What was seen, sorted; equal ones once. Seasons run from midwinter; south of the equator from June."""
    south = is_south(collection.site.latitude)
    kept = list(entries)
    found = set()
    for tree in collection.trees:
        rules = rulebook.taxa[tree.taxon]
        wanted = FLOWERS if rules.taxon.flowers else COLOUR
        history = history_of([entry for entry in kept if entry.tree == tree.id], rules, south)
        group = tree.season_of_variety or ""
        for (id, season), day in history.stages.items():
            stage = rules.stages[id]
            if stage.bbch.split("/")[0] == wanted:
                told = str(season), stage.event_id, date.fromordinal(day).isoformat(), tree.taxon
                found.add(Sighting(station_of(collection.site), *told, *_place(collection.site), group))
    return sorted(found)


def station_of(site: Site) -> str:
    """The place as a name: `37.75N 128.89E`."""
    latitude, longitude = _place(site)
    north = f"{latitude.removeprefix('-')}{'S' if latitude.startswith('-') else 'N'}"
    return f"{north} {longitude.removeprefix('-')}{'W' if longitude.startswith('-') else 'E'}"


def _place(site: Site) -> tuple[str, str]:
    """To two decimals, about a kilometre."""
    return f"{site.latitude:.2f}", f"{site.longitude:.2f}"


def sightings_text(sightings: Iterable[Sighting]) -> str:
    """The CSV; the same for the same sightings in any order."""
    return _csv(COLUMNS, (astuple(sighting) for sighting in sorted(set(sightings))))


def temperature_text(site: Site, record: WeatherRecord) -> str:
    """The record's known days as the CSV that fit reads, under the place's name."""
    station = station_of(site)
    days = range(record.first_day, record.end_day)
    rows = (
        (station, date.fromordinal(day).isoformat(), f"{low:.1f}", f"{high:.1f}")
        for day, low, high in zip(days, record.tmin_c, record.tmax_c, strict=True)
        if not np.isnan(low + high)
    )
    return _csv(TEMPERATURES, rows)


def _csv(columns: Iterable[str], rows: Iterable[tuple[str, ...]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()
