"""Tasks made by hand, for the tests of the calendar."""

from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import UUID

from care_planner.calendar.event import Event, Stamped
from care_planner.calendar.events import Maker, work_events
from care_planner.calendar.feeds import Feeds, make_feeds
from care_planner.calendar.revisions import Published
from care_planner.tasks.agenda import agenda
from care_planner.tasks.links import PlainWords
from care_planner.tasks.model import Task, Window
from care_planner.words.speaker import Speaker

IDENTITY = UUID("6f1c0d5e-3b3a-4a6e-9a57-2f0c1d9e8b77")
NOW = datetime(2027, 3, 1, 8, 0, 0, tzinfo=UTC)
STAMP = "20270301T080000Z"
# Every kind of text that could break a calendar line, or deceive the person who reads it.
HOSTILE = (
    "line\nbreak",
    "line\r\nbreak",
    "carriage\rreturn",
    "a;b,c\\d",
    "\\N and \\n",
    "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:injected",
    "BEGIN:VCALENDAR",
    "END:VEVENT",
    "nul\x00bell\x07del\x7fc1\x85end",
    "\u202eright to left\u202c \u2066isolate\u2069",
    "separators\u2028and\u2029here",
    "\ufeffmark",
    "surrogate\ud800half",
    "🌸" * 60,
    "👩‍🌾 and é" * 20,
    "x" * 5000,
    "^caret^" * 20,
    "\\" * 200,
    ":" * 80,
    '"quoted"',
)


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def task(
    tree: str = "sats-01", rule: str = "prune-after-bloom", on: str = "2027-05-22", **changes: object
) -> Task:
    """A firm task on a day, its window a week around it."""
    at = day(on)
    made = Task(
        tree=tree,
        rule=rule,
        season=2027,
        occurrence=1,
        kind="work",
        title="Prune after bloom",
        day=at,
        window=Window(at - 3, at, at + 4),
        chance=0.8,
        minutes=30,
        cautions=("Leave a leafy shoot on each branch",),
        reasons=(PlainWords("End of bloom expected 20 May"), PlainWords("Common practice")),
        firm=True,
        bench="open",
        taxon="satsuki-azalea",
        category="pruning",
    )
    if "why" in changes:
        changes["reasons"] = tuple(PlainWords(str(text)) for text in changes.pop("why"))  # type: ignore[attr-defined]
    made = replace(made, **changes)  # type: ignore[arg-type]
    return replace(made, stage=made.rule) if made.kind == "look" else made


def maker(**changes: object) -> Maker:
    """What events are made with: no packs, so a task's own words alone."""
    return Maker(IDENTITY, Speaker({}), **changes)  # type: ignore[arg-type]


def event(**changes: object) -> Event:
    """The event of one task, with changes to the task and then, for the event's own names, to the event."""
    own = {name: changes.pop(name) for name in ("alarm_minutes", "lines", "url") if name in changes}
    if "alarm_minutes" in own:
        own["alarm"] = changes.get("title", "Prune after bloom")
    plan = agenda([task(**changes)], no_walk)  # type: ignore[arg-type]
    (made,) = work_events(plan, maker())
    return replace(made, **own)  # type: ignore[arg-type]


def no_walk(monday: int) -> int | None:
    """Nobody has a favourite day."""
    return None


def stamped(**changes: object) -> Stamped:
    return Stamped(event(**changes), 0, STAMP)


def feeds_of(
    tasks: list[Task], published: Published | None = None, now: datetime = NOW, **changes: object
) -> Feeds:
    """All feeds of some tasks, as the first plan or after a published one."""
    made = maker(**{name: changes.pop(name) for name in ("alarms", "url") if name in changes})
    options: dict[str, object] = {"trees": sorted({one.tree for one in tasks}), "site": "A garden"} | changes
    return make_feeds(
        tasks=tasks,
        walk_day=no_walk,
        make=made,
        published=published or Published(),
        now=now,
        **options,  # type: ignore[arg-type]
    )


def season_of_tasks(trees: int = 3) -> list[Task]:
    """A small year: three works on each tree, on shared and on own days."""
    works = (
        ("repot", "2027-03-13", "roots", True),
        ("tag-colours", "2027-05-15", "flowers", False),
        ("prune-after-bloom", "2027-06-05", "pruning", True),
    )
    return [
        task(
            f"sats-{number:02}",
            rule,
            on,
            title=rule.replace("-", " ").capitalize(),
            category=category,
            firm=firm,
            bench="open" if number % 2 else "frost-pocket",
        )
        for number in range(1, trees + 1)
        for rule, on, category, firm in works
    ]
