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
        from care_planner.folder.water_now import barrel_now, needs_now
        from care_planner.show.water import barrel_lines, blend_lines, water_lines

        planned = plan_of(inputs, today or now(inputs).date(), read_previous(folder / "calendar")[0])
        found, air = needs_now(inputs, planned)
        for line in water_lines(found, air, planned.today, inputs.collection.site.name):
            echo(line)
        barrel, why_not = barrel_now(inputs, air, found)
        if barrel is not None and inputs.collection.water.barrel is not None:
            for line in barrel_lines(barrel, inputs.collection.water.barrel.litres):
                echo(line)
        if why_not:
            echo(why_not)
        for line in blend_lines(inputs.collection.water):
            echo(line)
        for message in inputs.messages:
            echo(message, err=True)
