"""Rounds, walks and watches as events: of the feed for everything, of a part of it, of one tree."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import groupby
from uuid import UUID

from care_planner.calendar.event import Event
from care_planner.calendar.identity import uid
from care_planner.calendar.text import LONGEST_NAME, clean_line, one_line
from care_planner.tasks.agenda import Agenda, Standing, Walk, Watch
from care_planner.tasks.model import Task
from care_planner.tasks.questions import Question
from care_planner.tasks.rounds import Round
from care_planner.tasks.unattended import Absence
from care_planner.words.asking import NOTHING_IN_PART, PartDone, question_words
from care_planner.words.entries import round_lines, standing_lines, watch_lines
from care_planner.words.line import Line, line
from care_planner.words.speaker import Speaker
from care_planner.words.titles import question_title, round_title, standing_title, walk_title, watch_title
from care_planner.words.unattended import absence_title, absence_words, away_command
from care_planner.words.walks import walk_lines

WALK = "walk"
WATCH = "watch"
STANDING = "standing"
QUESTION = "question"
AWAY = "away"


@dataclass(frozen=True, slots=True)
class Alarms:
    """How long before a day begins an alarm sounds: one for all of a day's works, or one for `each`."""

    minutes: int
    each: bool = False


@dataclass(frozen=True, eq=False)
class Maker:
    """What every event of a collection is made with. `whose` names the person whose day a day is."""

    identity: UUID
    said: Speaker
    alarms: Alarms | None = None
    url: str = ""
    whose: Mapping[int, str] | None = None
    part_done: PartDone = field(default_factory=lambda: NOTHING_IN_PART)
    absence: tuple[int, Absence] | None = None  # the next that nobody covers, and the day on which it is told

    def says(self) -> tuple[object, ...]:
        """All that decides its words, the rules aside: with the very same rules two makers that say the same
        make the same events of the same tasks."""
        said = self.said
        speaks = dict(said.names), tuple(said.benches), dict(said.counts), said.rough
        return self.identity, self.alarms, self.url, dict(self.whose or {}), speaks

    def event(
        self, key: str, day: int, title: str, lines: Iterable[Line], categories: Sequence[str]
    ) -> Event:
        """An event with its texts cleaned."""
        extra = [line(f"Whose day: {self.whose[day]}.")] if self.whose and day in self.whose else []
        return Event(
            uid=uid(self.identity, key),
            day=day,
            title=one_line(title, LONGEST_NAME),
            lines=tuple(map(clean_line, [*lines, *extra, *([line(self.url)] if self.url else [])])),
            categories=tuple(one_line(name, LONGEST_NAME) for name in categories),
            url=self.url,
        )


def all_events(plan: Agenda, make: Maker, asked: Iterable[Question] = ()) -> list[Event]:
    """What is asked, works, walks and watches; the day's alarm on its dearest work."""
    questions = [_question(one, make) for one in asked]
    return [*questions, *work_events(plan, make), *walk_events(plan, make), *_watches(plan, make)]


def work_events(plan: Agenda, make: Maker) -> list[Event]:
    """Works alone, as they are in `all_events`."""
    return _with_alarms([_round(work, plan, make) for work in plan.rounds], plan.rounds, make)


def walk_events(plan: Agenda, make: Maker) -> list[Event]:
    """The weekly walks alone."""
    return [_walk(walk, plan, make) for walk in plan.walks]


def tree_events(plan: Agenda, make: Maker) -> list[Event]:
    """Of one tree's agenda: its works and watches, and what holds for a time as a note on its first day."""
    standing = [_standing(held, make) for held in plan.standing]
    return [*work_events(plan, make), *_watches(plan, make), *standing]


def _round(work: Round, plan: Agenda, make: Maker) -> Event:
    lines = round_lines(work, plan, make.said)
    made = make.event(work.key, work.day, round_title(work, make.said), lines, _kinds(work.tasks))
    return replace(made, firm=work.firm)


def _walk(walk: Walk, plan: Agenda, make: Maker) -> Event:
    return make.event(walk.key, walk.day, walk_title(walk), walk_lines(walk, plan, make.said), (WALK,))


def _watches(plan: Agenda, make: Maker) -> list[Event]:
    return [event for watch in plan.watches for event in _watch(watch, make)]


def _watch(watch: Watch, make: Maker) -> Iterable[Event]:
    begins, ends = (watch_lines(watch, make.said, ends) for ends in (False, True))
    yield make.event(watch.key, watch.first, watch_title(watch, False), begins, (WATCH,))
    if watch.last is not None and watch.last > watch.first:
        yield make.event(f"{watch.key}/end", watch.last, watch_title(watch, True), ends, (WATCH,))


def _standing(held: Standing, make: Maker) -> Event:
    task = held.tasks[0]
    key = f"standing/{task.rule}/{task.season}"
    return make.event(key, held.first, standing_title(held), standing_lines(held, make.said), (STANDING,))


def _question(asked: Question, make: Maker) -> Event:
    title = question_title(asked.title, asked.trees)
    return make.event(asked.key, asked.on, title, [line(question_words(asked, make.part_done))], (QUESTION,))


def absence_events(make: Maker) -> list[Event]:
    """That somebody is to be found who waters, some days before everyone is away."""
    if make.absence is None:
        return []
    day, absence = make.absence
    lines = [line(absence_words(absence)), line(f"{away_command(absence)} prints the page for whoever does.")]
    key = f"{AWAY}/{date.fromordinal(absence.first).isoformat()}"
    return [make.event(key, day, absence_title(absence), lines, (AWAY,))]


def _kinds(tasks: Iterable[Task]) -> list[str]:
    return sorted({task.category for task in tasks})


def _with_alarms(events: list[Event], works: Sequence[Round], make: Maker) -> list[Event]:
    """The first work of a day wakes for all of them, or each for itself; done work for none."""
    if make.alarms is None:
        return events
    found: list[Event] = []
    for _, of_day in groupby(zip(events, works, strict=True), key=lambda pair: pair[1].day):
        held = list(of_day)
        due = [event for event, work in held if not work.done]
        for event, work in held:
            wakes = not work.done and (make.alarms.each or event is due[0])
            text = event.title if make.alarms.each else "; ".join(one.title for one in due)
            found.append(
                replace(event, alarm_minutes=make.alarms.minutes, alarm=one_line(text)) if wakes else event
            )
    return found
