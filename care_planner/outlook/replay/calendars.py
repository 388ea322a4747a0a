"""The plan and the calendar of each day of a replay, held against those of the day before.

Every day plans from the plan of the day before and publishes over what stands, as at home.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from care_planner.calendar.events import Maker
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feeds import make_feeds
from care_planner.calendar.names import ALL_NAME
from care_planner.calendar.revisions import Published, Record
from care_planner.climate.simulated import issued_at
from care_planner.outlook.replay.season import KnownDay, Replayed
from care_planner.outlook.watch.night_feed import CATEGORY, night_events
from care_planner.outlook.watch.night_words import source_words
from care_planner.outlook.watch.nights import NightWatch
from care_planner.plan import Plan, plan_with_colours
from care_planner.years.previous import PreviousPlan, PreviousTask, PreviousTree
from care_planner.years.standing import Stand


@dataclass(frozen=True)
class CalendarDay:
    """What a day's feed of everything has against the day before.

    nights: entries of the forecast that were never there before; others: such entries of the plan itself.
    dropped: entries of days to come that are gone; fallen: revisions or stamps that went back, which no phone
    forgives; moved: tasks with another day. fault: why the feed failed its check, or empty. said: whose
    forecast and how old.
    """

    day: int
    entries: int
    nights: int
    others: int
    dropped: int
    fallen: int
    moved: int
    fault: str
    said: str


class Calendars:
    """Plans and publishes day by day: `stands` before the watches of a day are known, `hears` after."""

    def __init__(self, of: Replayed, maker: Callable[[Plan], Maker]) -> None:
        self.days: list[CalendarDay] = []
        self.files: Mapping[str, bytes] = {}
        self._of, self._maker = of, maker
        self._plan: Plan | None = None
        self._moved = 0
        self._published = Published()

    def stands(self, known: KnownDay) -> Mapping[int, Sequence[Stand]]:
        """Plan the day, from the plan of the day before."""
        of, before = self._of, self._plan
        self._plan = plan_with_colours(
            *(of.collection, of.noted(known.day), known.record, of.rulebook, known.day),
            previous=remembered(before) if before is not None else PreviousPlan(),
            outlook=known.outlook,
        )
        days = {task.key: task.day for task in before.tasks} if before is not None else {}
        self._moved = sum(1 for task in self._plan.tasks if days.get(task.key, task.day) != task.day)
        return self._plan.stands

    def hears(self, known: KnownDay, found: Sequence[NightWatch]) -> None:
        """Publish the day with what the forecast calls for, at the hour at which the forecast comes."""
        plan, collection = self._plan, self._of.collection
        assert plan is not None
        make, now, fault = self._maker(plan), issued_at(known.day), ""
        before = self._published.feeds
        try:
            feeds = make_feeds(
                [tree.id for tree in collection.trees],
                [*plan.tasks, *plan.done],
                collection.people.walk_day,
                make,
                collection.site.name,
                self._published,
                now,
                plan.questions,
                night_events(found, known.outlook, make),
            )
            self._published, self.files = feeds.published, feeds.files
        except CannotWrite as failed:
            fault = str(failed)
        after, said = self._published.feeds, source_words(known.outlook, now)
        fallen = sum(_fallen(before.get(name, {}), records) for name, records in after.items())
        all_before, all_now = before.get(ALL_NAME, {}), after.get(ALL_NAME, {})
        shown = {uid: record.shown for uid, record in all_now.items() if record.shown is not None}
        new = [event for uid, event in shown.items() if uid not in all_before]
        nights = sum(1 for event in new if CATEGORY in event.categories)
        dropped = sum(
            1
            for uid, record in all_before.items()
            if record.shown is not None and uid not in shown and record.day >= known.day
        )
        self.days.append(
            CalendarDay(
                *(known.day, len(shown), nights, len(new) - nights, dropped, fallen, self._moved, fault, said)
            )
        )


def _fallen(before: Mapping[str, Record], now: Mapping[str, Record]) -> int:
    both = [(before[uid], record) for uid, record in now.items() if uid in before]
    return sum(1 for old, new in both if new.sequence < old.sequence or new.stamp < old.stamp)


def remembered(plan: Plan) -> PreviousPlan:
    """A plan as the next day's reads it back."""
    tasks: defaultdict[str, dict[str, PreviousTask]] = defaultdict(dict)
    stages: defaultdict[str, dict[tuple[str, int], int]] = defaultdict(dict)
    for task in plan.tasks:
        tasks[task.tree][task.part] = PreviousTask(
            task.day,
            task.title,
            task.rule,
            task.kind,
            task.season,
            task.window.opens,
            task.window.closes,
            task.move,
            task.left,
        )
    for row in plan.stages:
        if row.p50 is not None:
            stages[row.tree][row.stage, row.season] = row.p50
    trees = {tree: PreviousTree(tasks[tree], stages[tree], plan.today) for tree in {*tasks, *stages}}
    return PreviousPlan(plan.today, trees)
