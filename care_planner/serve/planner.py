"""The one thread that plans. Requests only ask for a plan, and wait a bounded time or not at all."""

import logging
from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from threading import Condition, Thread

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.kept_events import KeptEvents
from care_planner.folder.read_folder import Inputs
from care_planner.folder.read_signs import Watched
from care_planner.folder.show_now import Blooms
from care_planner.folder.write_tonight import Tonight
from care_planner.plan import Plan, PlanCache
from care_planner.problems import NoWeather, ProblemsFound
from care_planner.serve.changed import Changed, changed_by
from care_planner.serve.clock import Clock, Ticks
from care_planner.serve.names import SERVED_FOLDER
from care_planner.serve.read_inputs import read_signs
from care_planner.serve.read_served import read_served
from care_planner.serve.refresh import Refreshed, refresh
from care_planner.serve.served import ServedFeed

LOOK_EVERY_S = 2.0
# A fault that no file shows (a full disk, a network that is down) may have passed by then.
TRY_AGAIN_AFTER_S = 600.0
# A service is asked only when its last answer has expired; this is how often that is looked at.
FORECAST_EVERY_S = 1200.0
# One of the machine (no free handle, no memory, a folder that is away) may be over in a moment.
TRY_SOON_AFTER_S = 10.0
CHANGES_KEPT = 50

log = logging.getLogger(__name__)


@dataclass(frozen=True, eq=False)
class ServedView:
    """Everything a page needs, as of one moment; it never changes, so a request sees one state only.

    `inputs` and `plan` are None until the first plan is made. `faults` say why the last try failed, empty
    when it did not; plan and feeds are then the last good ones. `tonight` is None where no forecast is
    chosen; `blooms` are the trees of the show.
    """

    number: int = 0
    inputs: Inputs | None = None
    plan: Plan | None = None
    feeds: Mapping[str, ServedFeed] | None = None
    changes: tuple[Changed, ...] = ()
    faults: tuple[str, ...] = ()
    tonight: Tonight | None = None
    blooms: Blooms = ()


class Planner:
    """Watches a collection and keeps its plan and feeds fresh. `start` it once, `stop` it at the end."""

    def __init__(self, folder: Path, clock: Clock, ticks: Ticks, look_every_s: float = LOOK_EVERY_S) -> None:
        self._folder, self._clock, self._ticks, self._look_every_s = folder, clock, ticks, look_every_s
        self._cache, self._events = PlanCache(), KeptEvents()
        self._last: Refreshed | None = None
        self._signs: tuple[Watched, date] | None = None
        self._try_again_at: float | None = None
        self._changed = Condition()
        self._asked = 0
        self._stopping = False
        self._changes: deque[Changed] = deque(maxlen=CHANGES_KEPT)
        self.view = ServedView()
        self._thread = Thread(target=self._run, name="planner", daemon=True)

    def start(self) -> None:
        """Serve what was last served, and plan as soon as may be."""
        self.view = ServedView(feeds=read_served(self._folder / SERVED_FOLDER))
        self.ask()
        self._thread.start()

    def stop(self) -> None:
        """End after the plan at hand."""
        with self._changed:
            self._stopping = True
            self._changed.notify_all()
        if self._thread.is_alive():
            self._thread.join()

    def ask(self) -> int:
        """Ask for a plan that knows all that was noted until now; returns its number."""
        with self._changed:
            self._asked += 1
            self._changed.notify_all()
            return self._asked

    def wait(self, number: int, seconds: float) -> bool:
        """Wait until a plan of that number was made, or tried; False where that takes longer."""
        with self._changed:
            return self._changed.wait_for(lambda: self.view.number >= number or self._stopping, seconds)

    def _run(self) -> None:
        """Look and plan until stopped. Nothing ends it: else notes would be taken that nobody plans with."""
        while not self._stopping:
            with self._changed:
                self._changed.wait_for(
                    lambda: self._stopping or self._asked > self.view.number, self._look_every_s
                )
            if self._stopping:
                return
            try:
                if self._is_stale():
                    self.ask()
                if self._asked > self.view.number:
                    self._plan(self._asked)
            except Exception as fault:  # not even the clock or the files' times could be read
                self._show(_with_faults(self.view, self._asked, [_words_of(fault)]), TRY_SOON_AFTER_S)

    def _is_stale(self) -> bool:
        if self._try_again_at is not None and self._ticks() >= self._try_again_at:
            return True
        return self._look() != self._signs

    def _look(self) -> tuple[Watched, date]:
        return read_signs(self._folder, self._clock, self._last.reading if self._last else None)

    def _plan(self, number: int) -> None:
        self._signs = self._look()  # before reading: what changes meanwhile is then seen as a change
        view, again_after_s = self._tried(number)
        self._show(view, again_after_s)

    def _show(self, view: ServedView, again_after_s: float | None) -> None:
        self._try_again_at = None if again_after_s is None else self._ticks() + again_after_s
        with self._changed:
            self.view = view
            self._changed.notify_all()

    def _tried(self, number: int) -> tuple[ServedView, float | None]:
        """The new view, and after how many seconds to try again though no file changed; None: not at all."""
        before = self.view
        try:
            made = self._refresh()
        except ProblemsFound as found:
            return _with_faults(before, number, map(str, found.problems)), TRY_AGAIN_AFTER_S
        except NoWeather as fault:
            return _with_faults(before, number, [str(fault)]), TRY_AGAIN_AFTER_S
        except (CannotWrite, OSError, MemoryError) as fault:
            return _with_faults(before, number, [_words_of(fault)]), TRY_SOON_AFTER_S
        except Exception as fault:  # whatever it is, the last good feeds must go on being served
            log.exception("planning failed")
            return _with_faults(before, number, [_words_of(fault)]), TRY_AGAIN_AFTER_S
        self._last = made
        self._signs = made.reading.watched, made.reading.today
        self._changes.append(changed_by(number, made.previous, made.plan))
        for message in made.messages:
            log.info("%s", message)
        view = ServedView(
            *(number, made.reading.inputs, made.plan, made.feeds, tuple(self._changes)),
            tonight=made.tonight,
            blooms=made.blooms,
        )
        return view, FORECAST_EVERY_S if made.reading.inputs.collection.forecast is not None else None

    def _refresh(self) -> Refreshed:
        last = self._last.reading if self._last is not None else None
        return refresh(self._folder, self._clock, last, self._cache, self.view.feeds, self._events)


def _with_faults(before: ServedView, number: int, faults: Iterable[str]) -> ServedView:
    faults = tuple(faults)
    if faults != before.faults:  # said once, not at each try
        for fault in faults:
            log.warning("%s", fault)
    return replace(before, number=number, faults=faults)


def _words_of(fault: BaseException) -> str:
    if isinstance(fault, CannotWrite | OSError):
        return str(fault)
    return f"a fault of this program ({type(fault).__name__})"
