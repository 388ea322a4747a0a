"""table: a plan, the trees or the journal out to a spreadsheet."""

from datetime import date
from pathlib import Path
from typing import Literal

import click

from care_planner.commands.tools import echo, folder_argument, now, read, today_option, told

What = Literal["tasks", "stages", "trees", "journal"]
WHAT: tuple[What, ...] = ("tasks", "stages", "trees", "journal")


@click.command()
@folder_argument
@click.argument("what", type=click.Choice(WHAT))
@today_option
@click.option("--out", type=click.Path(path_type=Path), help="The calendar to go on from, as for plan.")
def table(folder: Path, what: What, today: date | None, out: Path | None) -> None:
    """Print the plan as CSV, for a spreadsheet; writes nothing.

    The plan is the one that `plan` with the same options would write. WHAT is tasks (a row a dated work,
    walk item or watch) or stages; or trees or journal, what you wrote, as `start` takes it back.
    """
    with told():
        inputs = read(folder, today)
        if what in ("trees", "journal"):
            echo(_written(folder, what), nl=False)
            return
        from care_planner.folder.read_previous import read_previous
        from care_planner.plan import plan_with_colours
        from care_planner.show.plan_table import stages_csv, tasks_csv

        day = today or now(inputs).date()
        previous, _ = read_previous(out or folder / "calendar")
        plan = plan_with_colours(
            inputs.collection, inputs.entries, inputs.record, inputs.rulebook, day.toordinal(), previous
        )
        if what == "tasks":
            text = tasks_csv(plan, inputs.collection, inputs.rulebook)
        else:
            text = stages_csv(plan.stages)
        echo(text, nl=False)


def _written(folder: Path, what: str) -> str:
    """What the files say, key by key, as they say it."""
    from care_planner.collection.read_collection import COLLECTION_FILE
    from care_planner.folder.lists.text import journal_csv, trees_csv
    from care_planner.journal.read_journal import read_entries_as_written
    from care_planner.typed_yaml.read_yaml import read_yaml

    if what == "journal":
        return journal_csv(read_entries_as_written(folder))
    located, _ = read_yaml(folder / COLLECTION_FILE, COLLECTION_FILE)
    return trees_csv(located.at(("trees",)) if located is not None else [])
