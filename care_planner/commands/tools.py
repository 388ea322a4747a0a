"""What commands share: arguments, the one clock, the folder read, mistakes told."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from care_planner.folder.read_folder import Inputs
    from care_planner.plan import Plan
    from care_planner.years.previous import PreviousPlan

WRONG_INPUT = 2
FIRST_YEAR, LAST_YEAR = 1900, 2150
MACHINE_FAULT = 1

folder_argument = click.argument("folder", type=click.Path(path_type=Path))
# For commands of a folder alone: inside a collection its name may be left out.
here_argument = click.argument("folder", type=click.Path(path_type=Path), default=Path())


class Day(click.ParamType):  # type: ignore[type-arg]
    name = "date"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            day = date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is no date; allowed: a date such as 2027-03-01", param, ctx)
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            self.fail(f"{value!r} is out of range; allowed: {FIRST_YEAR} to {LAST_YEAR}", param, ctx)
        return day


today_option = click.option("--today", type=Day(), help="Plan as if it were this day (2027-03-01).")


def echo(text: str = "", err: bool = False, nl: bool = True) -> None:
    """Say a line on the terminal, whatever characters it holds and the terminal can show."""
    from care_planner.words.harmless import harmless

    stream = sys.stderr if err else sys.stdout
    shown = harmless(text)
    encoding = getattr(stream, "encoding", None) or "utf-8"
    click.echo(shown.encode(encoding, "backslashreplace").decode(encoding), err=err, nl=nl)


def say(lines: list[str]) -> None:
    for line in lines:
        echo(line)


@contextmanager
def the_serve_extra() -> Iterator[None]:
    """Say how to install what serving needs where it is missing."""
    try:
        yield
    except ModuleNotFoundError as missing:
        if (missing.name or "").startswith("care_planner"):
            raise
        echo(f"serving needs {missing.name}: pip install '.[serve]'", err=True)
        sys.exit(MACHINE_FAULT)


def today_at(folder: Path) -> date:
    """Today, in the time zone of the collection. Raises CannotWrite where the clock cannot be right."""
    from care_planner.calendar.faults import CannotWrite
    from care_planner.collection.read_collection import read_collection
    from care_planner.folder.clock_doubts import clock_fault
    from care_planner.problems import ProblemsFound

    collection, _, problems = read_collection(folder)
    if collection is None:
        raise ProblemsFound(problems)
    today = now_in(collection.site.timezone).date()
    fault = clock_fault(today)
    if fault is not None:
        raise CannotWrite(f"nothing was written: {fault}")
    return today


def read(folder: Path, today: date | None = None) -> "Inputs":
    """Read the folder; notes may be dated up to today, or up to the day it is planned for."""
    from care_planner.folder.read_folder import read_folder

    inputs = read_folder(folder, lambda zone: max(now_in(zone).date(), today or date.min))
    if inputs.collection.forecast is None:
        return inputs
    from care_planner.folder.fetch_outlook import with_forecast

    return with_forecast(folder, inputs, now(inputs), today.toordinal() if today else None)


def plan_of(inputs: "Inputs", day: date, previous: "PreviousPlan") -> "Plan":
    """The plan of a day, from what was read; days of the `previous` one stand."""
    from care_planner.plan import plan_with_colours

    return plan_with_colours(
        *(inputs.collection, inputs.entries, inputs.record, inputs.rulebook, day.toordinal()),
        previous,
        outlook=inputs.outlook,
    )


def now(inputs: "Inputs") -> datetime:
    """Now, in the time zone of the collection."""
    return now_in(inputs.collection.site.timezone)


def now_in(zone: str) -> datetime:
    """The one clock."""
    import pendulum

    return pendulum.now(zone)


def ticks() -> float:
    """Seconds that only rise, for spans of time."""
    from time import monotonic

    return monotonic()


@contextmanager
def told() -> Iterator[None]:
    """Mistakes in the input end with exit code 2, the machine's faults with 1; neither with a traceback."""
    from care_planner.calendar.faults import CannotWrite
    from care_planner.problems import NoWeather, ProblemsFound

    try:
        yield
    except ProblemsFound as found:
        for problem in found.problems:
            echo(str(problem), err=True)
        sys.exit(WRONG_INPUT)
    except (CannotWrite, NoWeather) as fault:
        echo(str(fault), err=True)
        sys.exit(MACHINE_FAULT)
    except BrokenPipeError:  # whoever read the output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(MACHINE_FAULT)
    except OSError as fault:
        place = f"{fault.filename}: " if fault.filename else ""
        echo(f"{place}{fault.strerror or fault}", err=True)
        sys.exit(MACHINE_FAULT)
