"""Write a plan: feeds, plan.json and the state of what was published, all or nothing."""

from datetime import datetime
from pathlib import Path

from care_planner.calendar.feeds import make_feeds, task_uids
from care_planner.calendar.plan_json import plan_json
from care_planner.calendar.read_published import read_published
from care_planner.calendar.write_calendar import HeldFolder, write_calendar
from care_planner.collection.model import Collection
from care_planner.folder.write_identity import ensure_identity
from care_planner.plan import Plan
from care_planner.problems import ProblemsFound
from care_planner.words.notices import notice_lines


def write_plan(
    held: HeldFolder, folder: Path, collection: Collection, plan: Plan, now: datetime
) -> list[str]:
    """Write the plan of the collection in `folder`; returns what a person should be told.

    Raises CannotWrite or OSError with the last good calendar still in place.
    """
    identity, problems = ensure_identity(folder)
    if identity is None:
        raise ProblemsFound(problems)
    shown = [*plan.tasks, *plan.done]
    uids = task_uids(identity, shown)
    data = plan_json(
        plan.today, plan.season, plan.until, plan.tasks, plan.stages, notice_lines(plan.notices), uids
    )
    trees = [tree.id for tree in collection.trees]
    published, told = read_published(held.path)
    hours = collection.calendar.alarm_hours_before
    feeds = make_feeds(
        trees, shown, uids, collection.site.name, int(hours) if hours else None, published, now
    )
    write_calendar(held, feeds.files, data, feeds.published)
    return [*map(str, told), *feeds.messages]
