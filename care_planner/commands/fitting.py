"""fit, sightings: records of many places become the numbers of a pack; a collection's own go there."""

from pathlib import Path

import click

from care_planner.commands.tools import echo, folder_argument, read, told

_file = click.Path(path_type=Path)


@click.command()
@click.argument("spec", type=_file)
@click.option("--observations", type=_file, required=True, help="CSV: station, year, event, date.")
@click.option("--temperature", type=_file, required=True, help="CSV: station, date, tmin_c, tmax_c.")
@click.option("--stations", type=_file, help="CSV: station, latitude. With it, day length is tried as well.")
@click.option("--out", type=_file, required=True, help="The pack to write.")
@click.option("--held-out", type=_file, help="A folder for packs that have not seen some stations.")
def fit(
    spec: Path, observations: Path, temperature: Path, stations: Path | None, out: Path, held_out: Path | None
) -> None:
    """Fit a taxon's dates on records of many places.

    SPEC is a short YAML: the taxon and its events. The form of the need is chosen by leaving stations out.
    What is written is a pack: stages, pace, learning shares, sources and scores. CSV may be gzipped, or a
    folder of such files.
    """
    with told():
        from care_planner.learning.fitting.choose_form import TooLittle
        from care_planner.learning.fitting.fit import fit_pack
        from care_planner.learning.fitting.read_records import read_records
        from care_planner.learning.fitting.read_spec import read_spec
        from care_planner.learning.fitting.write_pack import refusals, write_pack, write_parts
        from care_planner.problems import Problem, ProblemsFound
        from care_planner.show.scores import score_lines

        asked, problems = read_spec(spec)
        problems += refusals(out)
        if asked is None or problems:
            raise ProblemsFound(problems)
        _say("reading records")
        events = [event.id for event in asked.events]
        records = read_records(observations, temperature, stations, events, asked.taxon)
        try:
            fitted = fit_pack(asked, records, _say, parts=held_out is not None)
        except TooLittle as missing:
            raise ProblemsFound([Problem(str(observations), 0, str(missing))]) from None
        write_pack(out, fitted.text)
        if held_out is not None:
            write_parts(held_out, asked.taxon, fitted, records)
        for line in score_lines(fitted.lines):
            echo(line)
        echo(f"written: {out}")


def _say(words: str) -> None:
    echo(f"  {words}", err=True)


@click.command()
@folder_argument
@click.option("--take", type=_file, multiple=True, help="Others' sightings to keep in the folder.")
@click.option("--out", type=_file, help="Write here, not to the terminal.")
@click.option("--temperature", type=_file, help="Write the folder's own daily temperatures here as well.")
def sightings(folder: Path, take: tuple[Path, ...], out: Path | None, temperature: Path | None) -> None:
    """First flowers seen here, for a fit that many share.

    One CSV that fit reads: the place to two decimals, taxon and variety group, event and date; no names of
    trees or people. Of trees without flowers, the start of leaf colour. Those of others that were taken in
    are with them.
    """
    with told():
        inputs = read(folder)
        from care_planner.learning.fitting.read_sightings import read_others, read_sightings
        from care_planner.learning.fitting.sightings import own_sightings, sightings_text, temperature_text
        from care_planner.learning.fitting.write_pack import write_pack
        from care_planner.learning.fitting.write_sightings import write_others
        from care_planner.problems import ProblemsFound

        known, problems = read_others(folder)
        found = [read_sightings(path) for path in take]
        problems += [problem for _, faults in found for problem in faults]
        if problems:
            raise ProblemsFound(problems)
        taken = {sighting for rows, _ in found for sighting in rows}
        own = own_sightings(inputs.collection, inputs.entries, inputs.rulebook)
        if take:
            new = taken - known - set(own)
            write_others(folder, known | new)
            echo(f"{len(new)} new sightings taken in, {len(taken) - len(new)} known before", err=True)
        text = sightings_text({*own, *known, *taken})
        if out is None:
            echo(text, nl=False)
        else:
            write_pack(out, text)
        if temperature is not None:
            write_pack(temperature, temperature_text(inputs.collection.site, inputs.record))
