"""water: which pot is likely dry when, what the barrel gives, how much tap water the rain takes."""

from datetime import date
from pathlib import Path

import click

from care_planner.commands.tools import echo, folder_argument, now, plan_of, read, today_option, told


@click.command()
@folder_argument
@today_option
def water(folder: Path, today: date | None) -> None:
    """Which pot is likely dry when, the soonest first.

    Then the rain barrel over the record's years, and the blend of tap and rain, where `water:` tells of them.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.folder.read_previous import read_previous
        from care_planner.folder.water_now import water_now
        from care_planner.show.passages import passage_lines
        from care_planner.show.water import water_blocks

        planned = plan_of(inputs, today or now(inputs).date(), read_previous(folder / "calendar")[0])
        for line in passage_lines(water_blocks(water_now(inputs, planned), inputs.collection)):
            echo(line)
        for message in inputs.messages:
            echo(message, err=True)
