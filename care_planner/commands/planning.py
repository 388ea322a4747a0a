"""plan, note: what changes a collection's files."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from care_planner.commands.tools import (
    Day,
    echo,
    folder_argument,
    here_argument,
    now,
    plan_of,
    read,
    today_at,
    today_option,
    told,
)

if TYPE_CHECKING:
    from care_planner.calendar.write_calendar import HeldFolder
    from care_planner.folder.read_folder import Inputs
    from care_planner.plan import Plan
    from care_planner.tasks.levelling import Lay
    from care_planner.years.previous import PreviousPlan

    _Made = tuple[Inputs, PreviousPlan, Plan, list[str]]


@click.command()
@here_argument
@today_option
@click.option("--out", type=click.Path(path_type=Path), help="Where to write (default FOLDER/calendar).")
@click.option("--all", "everything", is_flag=True, help="Print every day, not eight weeks.")
@click.option("--fewer-years", is_flag=True, help="Publish on fewer weather years than before.")
@click.option("--solver", is_flag=True, help="Lay works into hours by solver: closer to the best, slower.")
def plan(
    folder: Path, today: date | None, out: Path | None, everything: bool, fewer_years: bool, solver: bool
) -> None:
    """Plan the work and write the calendars.

    With --today but no --out it only prints. --solver is for people who told their hours, and needs the extra
    [level].
    """
    with told():
        from care_planner.calendar.faults import CannotWrite
        from care_planner.folder.clock_doubts import clock_doubt
        from care_planner.folder.read_previous import read_previous
        from care_planner.folder.write_fresh_plan import all_heard, write_fresh_plan
        from care_planner.folder.write_plan import write_plan
        from care_planner.folder.write_tonight import watch_run
        from care_planner.journal.write_note import set_torn_aside
        from care_planner.show.changes import change_lines
        from care_planner.show.one_weather import one_weather_lines
        from care_planner.show.plan import plan_lines
        from care_planner.show.questions import lacking_lines, question_lines, unattended_lines
        from care_planner.show.record import record_lines

        target = out or folder / "calendar"
        how = _laying(solver)
        heard: list[str] = []

        def made(previous: "PreviousPlan", told: list[str]) -> "_Made":
            inputs = read(folder, today)
            day = today or now(inputs).date()
            doubt = clock_doubt(day, previous, inputs.entries) if today is None else None
            if doubt is not None:
                raise CannotWrite(f"nothing was planned: {doubt}")
            said = [*told, *all_heard(heard, inputs.messages)]
            return inputs, previous, plan_of(inputs, day, previous, how), said

        def written(held: "HeldFolder", made: "_Made") -> "_Made":
            inputs, previous, plan, told = made
            told = [*told, *set_torn_aside(folder, now(inputs).date())]
            at = now(inputs)
            tonight, said = watch_run(folder, inputs, plan, at) if today is None else (None, [])
            told += said
            said, _ = write_plan(
                held, folder, inputs.collection, inputs.rulebook, plan, at, fewer_years, tonight
            )
            return inputs, previous, plan, [*told, *said, f"written to {target}"]

        if out is not None or today is None:
            inputs, previous, plan, messages = write_fresh_plan(folder, target, made, written)
        else:
            inputs, previous, plan, messages = made(*read_previous(target))
        for line in record_lines(inputs, (today or now(inputs).date()).toordinal()):
            echo(line)
        for line in lacking_lines(plan, inputs.collection, str(folder)):
            echo(line)
        for line in unattended_lines(plan, inputs.collection, str(folder)):
            echo(line)
        for line in plan_lines(plan, inputs.collection, everything, inputs.rulebook.taxa):
            echo(line)
        for line in ("", *one_weather_lines(inputs, plan.today)):
            echo(line)
        for line in question_lines(plan.questions, plan.part_done):
            echo(line)
        for line in change_lines(previous, plan, inputs.rulebook, everything):
            echo(line)
        for message in messages:
            echo(message, err=True)


def _laying(by_solver: bool) -> "Lay | None":
    """How works are laid into hours, None: the usual way. Raises a usage error where there is no solver."""
    if not by_solver:
        return None
    try:
        import highspy

        from care_planner.commands.write_nowhere import nothing_printed
        from care_planner.years.hours.solve import solve
    except ModuleNotFoundError:
        raise click.UsageError(
            "--solver needs what the extra [level] installs: pip install '.[level]'"
        ) from None
    with nothing_printed():
        highspy.Highs()  # type: ignore[no-untyped-call]  # the first one tells its version and licence
    return lambda problem: solve(problem).laid


class _WithStages(click.Command):
    """A command whose help ends with the stages that can be noted, by kind of tree."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        from care_planner.rulebook.read_packs import read_rulebook

        rulebook, _ = read_rulebook()
        with formatter.section("Stages, by kind of tree"):
            formatter.write_dl([(id, ", ".join(rules.stages)) for id, rules in sorted(rulebook.taxa.items())])


@click.command(cls=_WithStages)
@folder_argument
@click.argument("words", nargs=-1, required=True, metavar="TREE... WHAT")
@click.option("--date", "on", type=Day(), help="The day it was (default today).")
@today_option
@click.option("--sure", is_flag=True, help="Take what earlier notes speak against.")
@click.option("--no-learning", is_flag=True, help="Learn nothing from this note.")
def note(
    folder: Path, words: tuple[str, ...], on: date | None, today: date | None, sure: bool, no_learning: bool
) -> None:
    """Note what was seen or done, for one tree or several.

    TREE is a tree's id, taxon:NAME, bench:NAME or all. WHAT is what you would say: first flower, 40% open,
    not yet in bloom, repotted, dead-headed, no candle cut this year, moved to shed, weak, sold, not this
    weekend; a day may stand with it: repotted yesterday. Or exactly: a stage, "open 40%", not-yet, a BBCH
    code, "did RULE-ID", "skipped RULE-ID", "moved-to BENCH", "condition weak", "take-back NOTE-ID". Other
    words are kept as words.

    "done as planned" notes all works that the plan has on the day, "weekend as planned" those of its Saturday
    and Sunday.
    """
    with told():
        from care_planner.note.as_planned import is_as_planned, note_as_planned
        from care_planner.note.take import note_words

        if len(words) < 2:
            raise click.UsageError("TREE and WHAT are needed, such as: sats-01 first-flower")
        real = today or today_at(folder)
        if is_as_planned(words[-1]):
            for line in note_as_planned(folder, words[:-1], words[-1], on or real, real, sure):
                echo(line)
            return
        for line in note_words(folder, words, on, real, sure, not no_learning):
            echo(line)
