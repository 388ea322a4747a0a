"""tonight, replay: the forecast of the next nights, and how its alarms would have done."""

from datetime import date, datetime, time
from functools import partial
from pathlib import Path
from uuid import UUID

import click

from care_planner.commands.tools import Day, echo, folder_argument, now, plan_of, read, today_option, told

_ALARM_HOUR = 16
_WEEK_DAYS = 7
# The calendar of a replay is nobody's, so any identity will do.
_REPLAYED = UUID(int=1)


@click.command()
@folder_argument
@today_option
def tonight(folder: Path, today: date | None) -> None:
    """Which trees are in danger in the next nights.

    By the forecast chosen in collection.yaml. Calls you by `alarm:` where it is due; with --today it only
    prints what was known on that day.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.folder.read_previous import read_previous
        from care_planner.folder.write_tonight import look_ahead, watch_run
        from care_planner.show.learned_bias import bias_blocks
        from care_planner.show.passages import passage_lines
        from care_planner.show.tonight import NOT_CHOSEN, tonight_blocks

        if inputs.outlook is None:
            for line in NOT_CHOSEN:
                echo(line)
            return
        previous, _ = read_previous(folder / "calendar")
        at, messages = now(inputs), list(inputs.messages)
        planned = plan_of(inputs, today or at.date(), previous)
        if today is None:
            found, said = watch_run(folder, inputs, planned, at)
            messages += said
        else:
            at = datetime.combine(today, time(_ALARM_HOUR), at.tzinfo)
            found = look_ahead(inputs, planned, inputs.outlook, {}, at)
        assert found is not None
        for line in passage_lines(tonight_blocks(found, inputs.collection.site.name, at)):
            echo(line)
        for line in passage_lines(bias_blocks(inputs.outlook)):
            echo(f"\n{line}")
        for message in messages:
            echo(message, err=True)


@click.command("show")
@folder_argument
@today_option
def at_show(folder: Path, today: date | None) -> None:
    """The chance that trees are in bloom on the day of a show.

    And what could move it, with what that costs. The day and the trees stand in collection.yaml (`show:`).
    """
    with told():
        inputs = read(folder, today)
        from care_planner.folder.show_now import blooms_now
        from care_planner.show.at_show import show_blocks
        from care_planner.show.passages import passage_lines

        if inputs.collection.show is None:
            echo("No show is told. In collection.yaml: show: {date: 2027-05-29, trees: [ID]}")
            return
        day = (today or now(inputs).date()).toordinal()
        for line in passage_lines(show_blocks(blooms_now(inputs, day), inputs.collection, inputs.rulebook)):
            echo(line)


@click.command()
@folder_argument
@click.option("--season", type=click.IntRange(1800, 2150), required=True, help="The season to live again.")
@click.option("--record", type=click.Path(path_type=Path), help="A weather CSV in place of the folder's own.")
@click.option(
    "--setting", type=click.Choice(["cautious", "middle", "bold"]), help="In place of the folder's own."
)
@click.option("--seed", type=click.IntRange(0), default=1, help="Another draw of the forecasts' errors.")
@click.option("--every", type=click.IntRange(1, 60), default=14, help="Look at the trees after so many days.")
@click.option("--calendar", is_flag=True, help="Plan and publish each day too (some seconds a day).")
@click.option("--offline", type=Day(), help="A week from this day on has no network.")
def replay(
    folder: Path,
    season: int,
    record: Path | None,
    setting: str | None,
    seed: int,
    every: int,
    calendar: bool,
    offline: date | None,
) -> None:
    """Live a past season again, day by day, and count its alarms.

    Each day knows the record up to yesterday and a forecast made of what came, with the published error.
    With --calendar the plan and the feeds of each day are made as well, and held against the day before.
    """
    with told():
        inputs = read(folder)
        from care_planner.folder.read_folder import read_other_record
        from care_planner.folder.write_plan import maker
        from care_planner.outlook.replay.calendars import Calendars
        from care_planner.outlook.replay.counts import count
        from care_planner.outlook.replay.season import Replayed, now_and_then, season_nights
        from care_planner.show.replay import calendar_lines, replay_lines

        lived = read_other_record(record) if record is not None else inputs.record
        chosen = setting or inputs.collection.alarm.setting
        first = offline.toordinal() if offline is not None else 0
        of = Replayed(
            *(inputs.collection, inputs.entries, lived, inputs.rulebook, chosen, seed),  # type: ignore[arg-type]
            range(first, first + _WEEK_DAYS) if offline is not None else range(0),
        )
        made = Calendars(of, partial(maker, _REPLAYED, inputs.collection, inputs.rulebook))
        if calendar:
            nights = season_nights(of, season, made.stands, made.hears)
        else:
            nights = season_nights(of, season, now_and_then(of, every))
        for line in replay_lines(count(nights), of, season):
            echo(line)
        for line in calendar_lines(made.days, of):
            echo(line)
