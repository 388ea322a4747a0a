"""A collection's folder -> everything a plan needs, or every mistake in it at once."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from care_planner.calendar.faults import CannotWrite
from care_planner.climate.outlook import Outlook
from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.collection.read_collection import read_collection
from care_planner.collection.site import FileName
from care_planner.colours.gather import gather
from care_planner.folder.clock_doubts import clock_fault
from care_planner.folder.departures import with_departures
from care_planner.folder.fetch_weather import fetch_weather
from care_planner.journal.model import Entry
from care_planner.journal.read_journal import read_whole_journal
from care_planner.outlook.shows.forbidden import show_entries
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.stages.noted import not_understood
from care_planner.typed_yaml.located import Located


@dataclass(frozen=True, eq=False)
class Inputs:
    """What a collection's folder holds."""

    collection: Collection
    entries: list[Entry]
    record: WeatherRecord
    rulebook: Rulebook
    messages: list[str]
    outlook: Outlook | None = None  # what is expected of the next days, where a forecast was chosen


def read_folder(folder: Path, today: date | Callable[[str], date]) -> Inputs:
    """Read and check everything. Raises ProblemsFound with all mistakes, NoWeather where none is to be had.

    `today` is the real day, or what tells it for a time zone, since only the folder says in which it lies:
    a note dated later is a mistake.
    """
    collection, located, problems = read_collection(folder)
    journal = read_whole_journal(folder)
    entries, faults = journal.entries, journal.problems
    problems = problems + faults if located is not None else problems
    taxa = None if collection is None else {tree.taxon for tree in collection.trees}
    rulebook, faults = read_rulebook(folder / "rules", taxa)
    if located is not None:
        problems += faults + _unknown_taxa(located, rulebook, faults)
    if collection is None:
        weather = located.at(("site", "weather")) if located is not None else None
        raise ProblemsFound(problems + _weather_files(folder, weather)[1])
    day = today if isinstance(today, date) else _believed(today(collection.site.timezone))
    problems += _journal_problems(entries, collection, rulebook, day)
    files, faults = _weather_files(folder, collection.site.weather)
    problems += faults
    problems += gather(collection, entries, rulebook)[1]
    if located is not None:
        problems += _future_repots(located, collection, day)
        problems += _future_blooms(located, collection, day)
    if problems:
        raise ProblemsFound(problems)
    record, messages = fetch_weather(folder, collection.site, day, files)
    told = [*journal.torn, *_strangers(entries, collection), *messages]
    held = with_departures(collection, entries)
    entries = [*entries, *show_entries(collection, rulebook, day.toordinal())]
    return Inputs(held, entries, record, rulebook, told)


def read_other_record(path: Path) -> WeatherRecord:
    """A weather CSV from anywhere. Raises ProblemsFound with all its mistakes."""
    record, problems = read_weather_file(path, path.name)
    if record is None:
        raise ProblemsFound(problems)
    return record


def _believed(today: date) -> date:
    """The clock's day. Raises CannotWrite where it cannot be: all notes would be of the future."""
    fault = clock_fault(today)
    if fault is not None:
        raise CannotWrite(f"nothing was read: {fault}")
    return today


def _strangers(entries: list[Entry], collection: Collection) -> list[str]:
    """Entries of trees that are not in the collection: history, or a slip of the pen."""
    trees = {tree.id: None for tree in collection.trees}
    return [
        f"{entry.file}:{entry.line}: no tree '{entry.tree}' in the collection, so kept as history; "
        f"{did_you_mean(entry.tree, trees)}"
        for entry in entries
        if entry.tree not in trees
    ]


def _future_repots(located: Located, collection: Collection, today: date) -> list[Problem]:
    return [
        Problem(
            located.file,
            located.line(("trees", number, "last_repot", "date")),
            f"last_repot is dated {tree.last_repot.date}, which is after today",
            f"allowed: {today} or earlier",
        )
        for number, tree in enumerate(collection.trees)
        if tree.last_repot is not None and tree.last_repot.date > today
    ]


def _future_blooms(located: Located, collection: Collection, today: date) -> list[Problem]:
    return [
        Problem(
            located.file,
            located.line(("trees", number, "remembered_bloom", str(season))),
            f"remembered_bloom of {season} is dated {day}, which is after today",
            f"allowed: {today} or earlier",
        )
        for number, tree in enumerate(collection.trees)
        for season, day in tree.remembered_bloom.items()
        if day > today
    ]


def _unknown_taxa(located: Located, rulebook: Rulebook, faults: list[Problem]) -> list[Problem]:
    trees = located.at(("trees",))
    known = set(rulebook.taxa) | {pack for pack in rulebook.packs if any(pack in f.file for f in faults)}
    allowed = set(rulebook.packs) - {"container-tree"}
    problems = []
    for i, tree in enumerate(trees if isinstance(trees, list) else ()):
        taxon = tree.get("taxon") if isinstance(tree, dict) else None
        if isinstance(taxon, str) and taxon not in known and not (faults and taxon in rulebook.packs):
            line = located.line(("trees", i, "taxon"))
            what = f"unknown taxon '{taxon}'"
            problems.append(Problem(located.file, line, what, did_you_mean(taxon, allowed)))
    return problems


def _journal_problems(
    entries: list[Entry], collection: Collection, rulebook: Rulebook, today: date
) -> list[Problem]:
    """Entries of trees that are here; those of others are history."""
    taxa = {tree.id: rulebook.taxa.get(tree.taxon) for tree in collection.trees}
    problems = []
    for entry in entries:
        if entry.date > today:
            what = f"dated {entry.date}, which is after today"
            problems.append(Problem(entry.file, entry.line, what, f"allowed: {today} or earlier"))
        rules = taxa.get(entry.tree)
        fault = not_understood(entry, rules) if rules is not None else None
        if fault is not None:
            problems.append(Problem(entry.file, entry.line, *fault))
        if entry.moved_to and entry.tree in taxa and entry.moved_to not in collection.benches:
            what = f"unknown bench '{entry.moved_to}'"
            allowed = did_you_mean(entry.moved_to, collection.benches)
            problems.append(Problem(entry.file, entry.line, what, allowed))
    return problems


def _weather_files(folder: Path, weather: object) -> tuple[dict[str, WeatherRecord], list[Problem]]:
    """The records in the weather's files by name, and their mistakes; other forms are passed over."""
    found, problems = {}, []
    for source in weather if isinstance(weather, list | tuple) else (weather,):
        with suppress(ValidationError):
            name = TypeAdapter(FileName).validate_python(source)
            record, faults = read_weather_file(folder / name, name)
            problems += faults
            if record is not None:
                found[name] = record
            if record is None and not faults:
                problems.append(Problem(name, 0, "cannot be read"))
    return found, problems
