"""From a collection's folder to feeds that can be sent: read, plan, publish, write. Never in a request."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.kept_events import KeptEvents
from care_planner.calendar.names import ALL_NAME, WALKS_NAME, WORKS_NAME, tree_feed_name
from care_planner.calendar.read_published import bytes_of
from care_planner.calendar.write_calendar import HeldFolder, held_folder
from care_planner.folder.clock_doubts import clock_doubt
from care_planner.folder.read_identity import read_identity
from care_planner.folder.show_now import Blooms, blooms_now
from care_planner.folder.write_fresh_plan import all_heard, write_fresh_plan
from care_planner.folder.write_plan import maker, write_plan
from care_planner.folder.write_tonight import Tonight, watch_run
from care_planner.plan import Plan, PlanCache, plan_with_colours
from care_planner.problems import ProblemsFound
from care_planner.serve.clock import Clock
from care_planner.serve.feed_set import more_feeds
from care_planner.serve.names import ALL_FEED, SERVED_FOLDER, WALKS_FEED, WORKS_FEED, tree_feed
from care_planner.serve.read_inputs import Reading, read_inputs
from care_planner.serve.read_served import read_taxa_state
from care_planner.serve.served import ServedFeed
from care_planner.serve.write_served import write_served
from care_planner.years.previous import PreviousPlan

CALENDAR_FOLDER = "calendar"


@dataclass(frozen=True, eq=False)
class Refreshed:
    """A plan with what it was made of, the plan before it, its feeds and what a person should be told."""

    reading: Reading
    previous: PreviousPlan
    plan: Plan
    feeds: Mapping[str, ServedFeed]
    messages: tuple[str, ...]
    tonight: Tonight | None
    blooms: Blooms


def refresh(
    folder: Path,
    clock: Clock,
    last: Reading | None = None,
    cache: PlanCache | None = None,
    known: Mapping[str, ServedFeed] | None = None,
    kept: KeptEvents | None = None,
) -> Refreshed:
    """Plan the collection in `folder` for now, and write its calendar and its served feeds.

    Raises ProblemsFound, NoWeather, CannotWrite or OSError; what was published before then still stands.
    """
    calendar = folder / CALENDAR_FOLDER
    heard: list[str] = []

    def made(previous: PreviousPlan, told: list[str]) -> _Made:
        found = _made(folder, clock, last, cache, previous)
        return replace(found, told=[*told, *all_heard(heard, found.told)])

    def written(held: HeldFolder, made: _Made) -> Refreshed:
        return _written(held, folder, clock, made, known or {}, kept)

    return write_fresh_plan(folder, calendar, made, written)


@dataclass(frozen=True, eq=False)
class _Made:
    reading: Reading
    previous: PreviousPlan
    plan: Plan
    told: list[str]


def _made(
    folder: Path,
    clock: Clock,
    last: Reading | None,
    cache: PlanCache | None,
    previous: PreviousPlan,
) -> _Made:
    reading = read_inputs(folder, clock, last)
    inputs = reading.inputs
    doubt = clock_doubt(reading.today, previous, inputs.entries)
    if doubt is not None:
        raise CannotWrite(f"nothing was planned: {doubt}")
    plan = plan_with_colours(
        inputs.collection,
        inputs.entries,
        inputs.record,
        inputs.rulebook,
        reading.today.toordinal(),
        previous,
        cache,
        outlook=inputs.outlook,
    )
    return _Made(reading, previous, plan, inputs.messages)


def _written(
    held_calendar: HeldFolder,
    folder: Path,
    clock: Clock,
    made: _Made,
    known: Mapping[str, ServedFeed],
    kept: KeptEvents | None,
) -> Refreshed:
    """Calendar and served feeds, both while the calendar's folder is held: so they are of one plan."""
    inputs, plan, calendar = made.reading.inputs, made.plan, held_calendar.path
    now = clock(inputs.collection.site.timezone)
    tonight, said = watch_run(folder, inputs, plan, now)
    told = [*made.told, *said]
    said, floor = write_plan(
        held_calendar, folder, inputs.collection, inputs.rulebook, plan, now, tonight=tonight, kept=kept
    )
    told += said
    with held_folder(folder / SERVED_FOLDER) as held:
        identity, problems = read_identity(folder)
        if identity is None:
            raise ProblemsFound(problems)
        shown = [*plan.tasks, *plan.done]
        make = maker(identity, inputs.collection, inputs.rulebook, plan)
        parts_state = read_taxa_state(held.path)
        more = more_feeds(inputs.collection, shown, make, floor, parts_state, now)
        trees = [tree.id for tree in inputs.collection.trees]
        files = {**_calendar_feeds(calendar, trees), **more.files}
        feeds = write_served(held, files, more.published, known, now)
    blooms = blooms_now(inputs, plan.today)
    said = [*told, *more.messages]
    return Refreshed(made.reading, made.previous, plan, feeds, tuple(said), tonight, blooms)


def _calendar_feeds(calendar: Path, trees: list[str]) -> dict[str, bytes]:
    """The feeds just written to the calendar, under the names they are served by."""
    names = {ALL_FEED: ALL_NAME, WORKS_FEED: WORKS_NAME, WALKS_FEED: WALKS_NAME}
    names |= {tree_feed(tree): tree_feed_name(tree) for tree in trees}
    feeds = {}
    for served, written in names.items():
        data = bytes_of(calendar / written)
        if data is None:
            raise CannotWrite(f"{calendar / written} is gone; plan again")
        feeds[served] = data
    return feeds
