"""Reads a collection again, and keeps the very objects of before where nothing about them has changed."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from care_planner.collection.model import Collection
from care_planner.folder.fetch_outlook import with_forecast
from care_planner.folder.read_folder import Inputs, read_folder
from care_planner.folder.read_signs import Signs, Watched, read_store_signs, read_watched
from care_planner.serve.clock import Clock

ANY_ZONE = "UTC"  # until the collection's own is known


@dataclass(frozen=True, eq=False)
class Reading:
    """What was read, on which day of the collection, and the signs of the files it was read from."""

    inputs: Inputs
    today: date
    watched: Watched
    store: Signs


def read_signs(folder: Path, clock: Clock, last: Reading | None) -> tuple[Watched, date]:
    """What a plan of now would be made of; equal signs mean that planning again would change nothing."""
    if last is None:
        return read_watched(folder, ()), clock(ANY_ZONE).date()
    collection = last.inputs.collection
    return read_watched(folder, weather_files(collection)), clock(collection.site.timezone).date()


def read_inputs(folder: Path, clock: Clock, last: Reading | None) -> Reading:
    """Read the folder, with the rulebook and the record of the `last` reading where they are the same.

    A `PlanCache` knows them by identity. Raises what `read_folder` raises.
    """
    before = read_watched(folder, weather_files(last.inputs.collection) if last is not None else ())
    inputs = read_folder(folder, lambda zone: clock(zone).date())
    collection = inputs.collection
    if collection.forecast is not None:
        inputs = with_forecast(folder, inputs, clock(collection.site.timezone))
    # The record's file is known only now; its own signs are the ones from before, if they were taken then.
    known = last is not None and weather_files(last.inputs.collection) == weather_files(collection)
    watched = before if known else read_watched(folder, weather_files(collection))
    reading = Reading(inputs, clock(collection.site.timezone).date(), watched, read_store_signs(folder))
    return _with_the_same(reading, last) if last is not None else reading


def weather_files(collection: Collection) -> tuple[str, ...]:
    """The files in the folder that the record is read from."""
    return collection.site.weather_files


def _with_the_same(reading: Reading, last: Reading) -> Reading:
    inputs, old = reading.inputs, last.inputs
    if reading.watched.rules == last.watched.rules and set(inputs.rulebook.taxa) == set(old.rulebook.taxa):
        inputs = replace(inputs, rulebook=old.rulebook)
    site, old_site = inputs.collection.site, old.collection.site
    if site == old_site and (reading.watched.weather, reading.store) == (last.watched.weather, last.store):
        inputs = replace(inputs, record=old.record)
    return replace(reading, inputs=inputs)
