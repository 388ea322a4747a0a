"""The command line: reads, plans, writes, prints. Heavy imports wait until a command runs."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

if TYPE_CHECKING:
    from care_planner.read_folder import Inputs

WRONG_INPUT = 2
FIRST_YEAR, LAST_YEAR = 1900, 2150
MACHINE_FAULT = 1

_folder = click.argument("folder", type=click.Path(path_type=Path))


class _Day(click.ParamType):  # type: ignore[type-arg]
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


_today = click.option("--today", type=_Day(), help="Plan as if it were this day (2027-03-01).")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(package_name="care_planner", prog_name="care-planner")
def main() -> None:
    """Dated, explained work for container trees, from YAML rules and the local weather."""


@main.command()
@_folder
@_today
@click.option("--out", type=click.Path(path_type=Path), help="Where to write (default FOLDER/calendar).")
@click.option("--all", "everything", is_flag=True, help="Print every day, not eight weeks.")
def plan(folder: Path, today: date | None, out: Path | None, everything: bool) -> None:
    """Plan the work and write the calendars.

    With --today but no --out it only prints.
    """
    with _told():
        inputs = _read(folder, today)
        from care_planner.plan import make_plan
        from care_planner.plan_colours import with_colours
        from care_planner.read_previous import read_previous
        from care_planner.show_changes import change_lines
        from care_planner.show_plan import plan_lines

        day = today or _now(inputs).date()
        target = out or folder / "calendar"
        previous, messages = read_previous(target)
        messages += inputs.messages
        made = make_plan(
            inputs.collection, inputs.entries, inputs.record, inputs.rulebook, day.toordinal(), previous
        )
        made = with_colours(made, inputs)
        if out is not None or today is None:
            from care_planner.journal.write_note import set_torn_aside
            from care_planner.write_plan import write_plan

            messages += set_torn_aside(folder, _now(inputs).date())
            messages += write_plan(folder, target, inputs.collection, made, _now(inputs))
            messages.append(f"written to {target}")
        for line in plan_lines(made, inputs.collection.site.name, everything):
            click.echo(line)
        for line in change_lines(previous, made, inputs.rulebook):
            click.echo(line)
        for message in messages:
            click.echo(message, err=True)


@main.command()
@_folder
def check(folder: Path) -> None:
    """Name every mistake in the folder at once, file and line first."""
    with _told():
        inputs = _read(folder)
        from care_planner.show_plan import wrapped

        trees, notes = len(inputs.collection.trees), len(inputs.entries)
        for line in wrapped(f"{folder}: no mistakes in {trees} trees and {notes} notes"):
            click.echo(line)
        for told in (*(f"weather: {note}" for note in inputs.record.notes), *inputs.messages):
            for line in wrapped(told):
                click.echo(line)


@main.command()
@_folder
@click.argument("tree")
@click.argument("task")
@_today
def why(folder: Path, tree: str, task: str, today: date | None) -> None:
    """Why a task of a tree stands where it stands.

    Or why it does not come. TASK is a rule's id such as prune-after-bloom.
    """
    with _told():
        inputs = _read(folder, today)
        from care_planner.read_previous import read_previous
        from care_planner.show_why import why_lines

        day = today or _now(inputs).date()
        previous, _ = read_previous(folder / "calendar")
        for line in why_lines(inputs, tree, task, day.toordinal(), previous):
            click.echo(line)


@main.command()
@_folder
@click.argument("tree", required=False)
@_today
def learned(folder: Path, tree: str | None, today: date | None) -> None:
    """What the notes teach of each tree's pace.

    Early or late by how many days, from how many notes, how sure; and notes that do not fit the rest. With
    TREE, note by note.
    """
    with _told():
        inputs = _read(folder, today)
        from care_planner.show_learned import learned_lines

        for line in learned_lines(inputs, tree, (today or _now(inputs).date()).toordinal()):
            click.echo(line)


@main.command()
@_folder
def start(folder: Path) -> None:
    """Start a new collection with commented files."""
    with _told():
        from care_planner.collection.write_starter import write_starter
        from care_planner.problems import ProblemsFound

        problems = write_starter(folder)
        if problems:
            raise ProblemsFound(problems)
        click.echo(f"{folder}: a new collection. Next: edit collection.yaml, then")
        click.echo(f"  care-planner plan {folder}")


@main.command()
@_folder
def frost(folder: Path) -> None:
    """Last and first cold nights on each bench.

    At or under 0 and 3 degC, with 10, 50 and 90 % and the winters behind them.
    """
    with _told():
        inputs = _read(folder)
        from care_planner.show_frost import frost_lines

        for line in frost_lines(inputs):
            click.echo(line)


@main.command()
@_folder
@click.argument("tree", required=False)
@_today
def colours(folder: Path, tree: str | None, today: date | None) -> None:
    """Show which branch bore which flowers, what it can still give, and what must not be cut."""
    with _told():
        inputs = _read(folder, today)
        from care_planner.show_colours import colour_lines

        for line in colour_lines(inputs, tree, (today or _now(inputs).date()).toordinal()):
            click.echo(line)


@main.command()
@_folder
@_today
@click.option("--want", type=click.IntRange(1, 50), default=1, help="Plants that shall keep the range.")
@click.option(
    "--risk", type=click.FloatRange(0.001, 0.5), default=0.1, help="Accepted risk (0.1 is one in ten)."
)
def cuttings(folder: Path, today: date | None, want: int, risk: float) -> None:
    """Show which cuttings to take and how many, and what to keep, grow on or give away."""
    with _told():
        inputs = _read(folder, today)
        from care_planner.show_cuttings import cutting_lines

        for line in cutting_lines(inputs, want, risk, (today or _now(inputs).date()).toordinal()):
            click.echo(line)


@main.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
def rules(folder: Path | None) -> None:
    """The rules in force, and their own examples.

    Says where each rule comes from and runs the packs' examples as checks.
    """
    with _told():
        from care_planner.problems import ProblemsFound
        from care_planner.rulebook.read_packs import read_rulebook
        from care_planner.show_rules import rule_lines

        taxa = None
        if folder is not None:
            taxa = {tree.taxon for tree in _read(folder).collection.trees}
        rulebook, problems = read_rulebook(folder / "rules" if folder else None, taxa)
        if problems:
            raise ProblemsFound(problems)
        failed = False
        for line, bad in rule_lines(rulebook):
            click.echo(line)
            failed = failed or bad
        if failed:
            sys.exit(WRONG_INPUT)


@main.command()
@_folder
@click.argument("words", nargs=-1, required=True, metavar="TREE... WHAT")
@click.option("--date", "on", type=_Day(), help="The day it was (default today).")
@_today
@click.option("--sure", is_flag=True, help="Take what earlier notes speak against.")
@click.option("--no-learning", is_flag=True, help="Learn nothing from this note.")
def note(
    folder: Path, words: tuple[str, ...], on: date | None, today: date | None, sure: bool, no_learning: bool
) -> None:
    """Note what was seen or done, for one tree or several.

    TREE is a tree's id, taxon:NAME, bench:NAME or all. WHAT is one of: first-flower or another stage,
    "open 40%", not-yet, a BBCH code, "did RULE-ID", repotted, pruned, "skipped RULE-ID", "moved-to BENCH",
    "condition weak", "take-back NOTE-ID", or free text.
    """
    with _told():
        from care_planner.note_command import note as take_note

        if len(words) < 2:
            raise click.UsageError("TREE and WHAT are needed, such as: sats-01 first-flower")
        real = today or _today_at(folder)
        for line in take_note(folder, words[:-1], words[-1], on or real, real, sure, not no_learning):
            click.echo(line)


@main.command()
@_folder
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option("--port", type=click.IntRange(1, 65535), default=8437, show_default=True)
def serve(folder: Path, host: str, port: int) -> None:
    """Serve the feeds and the bench pages.

    Only people with a secret link see anything: make one with care-planner share.
    """
    with _told(), _the_serve_extra():
        import time

        import pendulum

        from care_planner.serve_command import serve as run

        run(folder, host, port, pendulum.now, time.monotonic, click.echo)


@main.command()
@_folder
@click.option("--to", required=True, type=click.Path(path_type=Path), help="Where the files go.")
def publish(folder: Path, to: Path) -> None:
    """Write the same feeds as plain files.

    For any web server or object store; HEADERS.txt beside them says how to serve them.
    """
    with _told(), _the_serve_extra():
        import pendulum

        from care_planner.write_public import publish as write

        _say(write(folder, to, pendulum.now))


@main.group()
@_folder
@click.pass_context
def share(ctx: click.Context, folder: Path) -> None:
    """Secret links to a folder: add, list, renew, revoke."""
    ctx.obj = folder


_url = click.option("--url", default="http://127.0.0.1:8437", show_default=True, help="Where it is served.")


@share.command("add")
@click.argument("name")
@click.option("--tree", help="Only this tree.")
@click.option("--bench", help="Only this bench.")
@click.option("--taxon", help="Only this taxon.")
@click.option("--work", help="Only this kind of work, such as pruning.")
@click.option("--may-note", is_flag=True, help="The link may also take notes.")
@_url
@click.pass_obj
def share_add(
    folder: Path,
    name: str,
    tree: str | None,
    bench: str | None,
    taxon: str | None,
    work: str | None,
    may_note: bool,
    url: str,
) -> None:
    """Make a secret link for one person."""
    with _told(), _the_serve_extra():
        from care_planner.share_command import share_add as add

        wanted: dict[Literal["all", "tree", "bench", "taxon", "work"], str | None] = {
            "tree": tree,
            "bench": bench,
            "taxon": taxon,
            "work": work,
        }
        _say(add(folder, name, wanted, may_note, url, _today_at(folder)))


@share.command("list")
@click.pass_obj
def share_list(folder: Path) -> None:
    """List the links, without their secrets."""
    with _told(), _the_serve_extra():
        from care_planner.share_command import share_list as listed

        _say(listed(folder))


@share.command("renew")
@click.argument("name")
@_url
@click.pass_obj
def share_renew(folder: Path, name: str, url: str) -> None:
    """Give a link a new secret."""
    with _told(), _the_serve_extra():
        from care_planner.share_command import share_renew as renew

        _say(renew(folder, name, url, _today_at(folder)))


@share.command("revoke")
@click.argument("name")
@click.pass_obj
def share_revoke(folder: Path, name: str) -> None:
    """Take a link away."""
    with _told(), _the_serve_extra():
        from care_planner.share_command import share_revoke as revoke

        _say(revoke(folder, name))


def _say(lines: list[str]) -> None:
    for line in lines:
        click.echo(line)


@contextmanager
def _the_serve_extra() -> Iterator[None]:
    """Say how to install what serving needs where it is missing."""
    try:
        yield
    except ModuleNotFoundError as missing:
        if (missing.name or "").startswith("care_planner"):
            raise
        click.echo(f"serving needs {missing.name}: pip install '.[serve]'", err=True)
        sys.exit(MACHINE_FAULT)


def _today_at(folder: Path) -> date:
    """Today, in the time zone of the collection."""
    from zoneinfo import ZoneInfo

    from care_planner.collection.read_collection import read_collection
    from care_planner.problems import ProblemsFound

    collection, _, problems = read_collection(folder)
    if collection is None:
        raise ProblemsFound(problems)
    return datetime.now(ZoneInfo(collection.site.timezone)).date()


def _read(folder: Path, today: date | None = None) -> "Inputs":
    """Read the folder; notes may be dated up to today, or up to the day it is planned for."""
    from care_planner.read_folder import read_folder

    return read_folder(folder, lambda zone: max(_now_in(zone).date(), today or date.min))


def _now(inputs: "Inputs") -> datetime:
    """Now, in the time zone of the collection."""
    return _now_in(inputs.collection.site.timezone)


def _now_in(zone: str) -> datetime:
    """The one clock."""
    import pendulum

    return pendulum.now(zone)


@contextmanager
def _told() -> Iterator[None]:
    """Mistakes in the input end with exit code 2, the machine's faults with 1; neither with a traceback."""
    from care_planner.calendar.faults import CannotWrite
    from care_planner.problems import NoWeather, ProblemsFound

    try:
        yield
    except ProblemsFound as found:
        for problem in found.problems:
            click.echo(str(problem), err=True)
        sys.exit(WRONG_INPUT)
    except (CannotWrite, NoWeather) as fault:
        click.echo(str(fault), err=True)
        sys.exit(MACHINE_FAULT)
    except BrokenPipeError:  # whoever read the output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(MACHINE_FAULT)
    except OSError as fault:
        place = f"{fault.filename}: " if fault.filename else ""
        click.echo(f"{place}{fault.strerror or fault}", err=True)
        sys.exit(MACHINE_FAULT)


if __name__ == "__main__":
    main()
