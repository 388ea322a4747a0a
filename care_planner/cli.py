"""The command line. Heavy imports wait until a command runs."""

import gc

import click

from care_planner.commands import (
    answering,
    fitting,
    looking,
    nights,
    paper,
    planning,
    starting,
    tables,
    watering,
    web,
)

# What a plan holds stays until it is written and has few circles: to look for some after every 700 objects,
# as Python does by itself, costs a quarter of the time.
OBJECTS_BETWEEN_LOOKS = 100_000


def set_collector() -> None:
    """Let the collector of circles look seldom."""
    gc.set_threshold(OBJECTS_BETWEEN_LOOKS)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(package_name="care_planner", prog_name="care-planner")
def main() -> None:
    """Dated, explained work for container trees, from YAML rules and the local weather."""
    set_collector()


for _command in (
    *(starting.start, starting.manual, answering.answer, planning.plan, planning.note, tables.table),
    *(
        looking.check,
        looking.why,
        looking.learned,
        looking.frost,
        looking.rules,
        looking.colours,
        looking.cuttings,
    ),
    *(fitting.fit, fitting.sightings),
    *(nights.tonight, nights.at_show, nights.replay, watering.water),
    *(paper.sheets, web.share, web.serve, web.publish),
):
    main.add_command(_command)


if __name__ == "__main__":
    main()
