"""plan, note: what changes a collection's files."""

from datetime import date
from pathlib import Path

import click

from care_planner.commands.tools import (
    Day,
    folder_argument,
    here_argument,
    now,
    read,
    today_at,
    today_option,
    told,
)


@click.command()
@here_argument
@today_option
@click.option("--out", type=click.Path(path_type=Path), help="Where to write (default FOLDER/calendar).")
@click.option("--all", "everything", is_flag=True, help="Print every day, not eight weeks.")
@click.option("--fewer-years", is_flag=True, help="Publish on fewer weather years than before.")
def plan(folder: Path, today: date | None, out: Path | None, everything: bool, fewer_years: bool) -> None:
    """Plan the work and write the calendars.

    With --today but no --out it only prints.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.colours.cautions import with_colours
        from care_planner.folder.read_previous import read_previous
        from care_planner.plan import make_plan
        from care_planner.show.changes import change_lines
        from care_planner.show.plan import plan_lines
        from care_planner.show.questions import question_lines

        day = today or now(inputs).date()
        target = out or folder / "calendar"
        previous, messages = read_previous(target)
        messages += inputs.messages
        made = make_plan(
            inputs.collection, inputs.entries, inputs.record, inputs.rulebook, day.toordinal(), previous
        )
        made = with_colours(made, inputs)
        if out is not None or today is None:
            from care_planner.folder.write_plan import write_plan
            from care_planner.journal.write_note import set_torn_aside

            messages += set_torn_aside(folder, now(inputs).date())
            messages += write_plan(folder, target, inputs.collection, made, now(inputs), fewer_years)
            messages.append(f"written to {target}")
        for line in plan_lines(made, inputs.collection.site.name, everything):
            click.echo(line)
        for line in (*question_lines(made.questions), *change_lines(previous, made, inputs.rulebook)):
            click.echo(line)
        for message in messages:
            click.echo(message, err=True)


@click.command()
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
    not yet in bloom, repotted, dead-headed, no candle cut this year, moved to shed, weak, sold; a day may
    stand with it: repotted yesterday. Or exactly: a stage, "open 40%", not-yet, a BBCH code, "did RULE-ID",
    "skipped RULE-ID", "moved-to BENCH", "condition weak", "take-back NOTE-ID". Other words are kept as words.
    """
    with told():
        from care_planner.note.take import note_words

        if len(words) < 2:
            raise click.UsageError("TREE and WHAT are needed, such as: sats-01 first-flower")
        for line in note_words(folder, words, on, today or today_at(folder), sure, not no_learning):
            click.echo(line)
