"""Write a plan: feeds, plan.json and the state of what was published, all or nothing."""

from datetime import datetime
from pathlib import Path
from uuid import UUID

from care_planner.calendar.event import Event
from care_planner.calendar.events import Alarms, Maker
from care_planner.calendar.feeds import make_feeds
from care_planner.calendar.kept_events import KeptEvents
from care_planner.calendar.names import ALL_NAME
from care_planner.calendar.plan_json import plan_json
from care_planner.calendar.read_published import read_published
from care_planner.calendar.revisions import Published
from care_planner.calendar.write_calendar import HeldFolder, write_calendar
from care_planner.collection.model import Collection
from care_planner.folder.read_basis import read_basis, shrunk_record
from care_planner.folder.write_identity import ensure_identity, restored_identity
from care_planner.folder.write_tonight import Tonight
from care_planner.outlook.watch.night_feed import night_events, past_nights
from care_planner.plan import Plan
from care_planner.problems import ProblemsFound
from care_planner.rulebook.pack import Rulebook
from care_planner.stages.members import FEW_YEARS
from care_planner.tasks.unattended import next_absence
from care_planner.words.names import own_name
from care_planner.words.notices import notice_lines
from care_planner.words.speaker import Speaker

WEATHER = "weather"


def write_plan(
    held: HeldFolder,
    folder: Path,
    collection: Collection,
    rulebook: Rulebook,
    plan: Plan,
    now: datetime,
    fewer_years: bool = False,
    tonight: Tonight | None = None,
    kept: KeptEvents | None = None,
) -> tuple[list[str], int]:
    """Write the plan of the collection in `folder`; returns what a person should be told, and the SEQUENCE
    that new events of it begin with.

    `tonight`: what the forecast says of the next nights, where one was chosen. `kept`: events of the plan
    before.
    Raises ProblemsFound where it would stand on fewer weather years than what is published (unless
    `fewer_years`) or the published identity is lost, CannotWrite or OSError; the last good calendar is then
    still in place.
    """
    before = read_basis(held.path)
    shrunk = [] if fewer_years else shrunk_record(before, plan.weather_years, WEATHER)
    lost, restored = restored_identity(folder, before)
    if shrunk or lost:
        raise ProblemsFound([*shrunk, *lost])
    identity, problems = ensure_identity(folder)
    if identity is None:
        raise ProblemsFound(problems)
    notices = notice_lines(plan.notices)
    days = (plan.today, plan.season, plan.until)
    data = plan_json(*days, plan.tasks, plan.stages, notices, plan.weather_years, identity)
    trees = [tree.id for tree in collection.trees]
    published, told = read_published(held.path)
    make = maker(identity, collection, rulebook, plan)
    tasks = [*plan.tasks, *plan.done]
    walk_day = collection.people.walk_day
    nights = _nights(published, plan.today, tonight, make, now)
    feeds = make_feeds(
        trees, tasks, walk_day, make, collection.site.name, published, now, plan.questions, nights, kept
    )
    write_calendar(held, feeds.files, data, feeds.published)
    return [*restored, *map(str, told), *feeds.messages], feeds.published.floor


def _nights(
    published: Published, today: int, tonight: Tonight | None, make: Maker, now: datetime
) -> list[Event]:
    """The nights that the forecast speaks of, and those that have passed, as they were told."""
    found = night_events(tonight.found, tonight.outlook, make, now) if tonight is not None else []
    shown = [
        record.shown for record in published.feeds.get(ALL_NAME, {}).values() if record.shown is not None
    ]
    told_anew = {event.uid for event in found}
    return [*(event for event in past_nights(shown, today) if event.uid not in told_anew), *found]


def maker(identity: UUID, collection: Collection, rulebook: Rulebook, plan: Plan) -> Maker:
    """What the events of a collection's plan are made with."""
    minutes = collection.calendar.alarm_minutes
    alarms = None if minutes is None else Alarms(minutes, collection.calendar.alarms == "each")
    whose = {day: collection.people.whose_day(day) for day in {task.day for task in plan.tasks}}
    named = {day: name for day, name in whose.items() if name}
    said, link = speaker(collection, rulebook, plan), collection.calendar.link or ""
    found = next_absence(plan.tasks, collection.people.is_away, plan.today)
    absence = None if found is None else (found.told_on(plan.today), found)
    return Maker(identity, said, alarms, link, named, plan.part_done, absence)


def speaker(collection: Collection, rulebook: Rulebook, plan: Plan | None = None) -> Speaker:
    """What the words of a collection need to know."""
    names = {tree.id: name for tree in collection.trees if (name := own_name(tree.id, tree.name))}
    counts = dict.fromkeys(collection.benches, 0)
    for tree in collection.trees:
        counts[tree.bench] += 1
    for bench in [bench for bench, held in counts.items() if not held]:  # one that is only wintered on
        counts[bench] = sum(1 for tree in collection.trees if tree.winter_bench == bench)
    return Speaker(rulebook.taxa, names, tuple(collection.benches), counts, _rough(plan))


def _rough(plan: Plan | None) -> str:
    """Why dates are rough: said on each of them."""
    if plan is not None and plan.only_means:
        return "Every date is rough: it rests on twelve monthly means only."
    if plan is not None and 0 < plan.weather_years < FEW_YEARS:
        return f"Every date is rough: it rests on {plan.weather_years} weather years."
    return ""
