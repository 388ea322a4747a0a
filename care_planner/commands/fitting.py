"""fit: records of many places become the numbers of a pack."""

from pathlib import Path

import click

from care_planner.commands.tools import told

_file = click.Path(path_type=Path)


@click.command()
@click.argument("spec", type=_file)
@click.option("--observations", type=_file, required=True, help="CSV: station, year, event, date; or a folder.")
@click.option("--temperature", type=_file, required=True, help="CSV: station, date, tmin_c, tmax_c; or a folder.")
@click.option("--stations", type=_file, help="CSV: station, latitude. With it, day length is tried as well.")
@click.option("--out", type=_file, required=True, help="The pack to write.")
@click.option("--held-out", type=_file, help="A folder for the packs that have not seen some of the stations.")
def fit(
    spec: Path, observations: Path, temperature: Path, stations: Path | None, out: Path, held_out: Path | None
) -> None:
    """Fit a taxon's dates on records of many places.

    SPEC is a short YAML: the taxon and its events. The form of the need is chosen by leaving stations out.
    What is written is a pack: stages, pace, learning shares, sources and scores. Files may be gzipped.
    """
    with told():
        from care_planner.fitting.choose import TooLittle
        from care_planner.fitting.fit import fit_pack
        from care_planner.fitting.read_records import read_records
        from care_planner.fitting.read_spec import read_spec
        from care_planner.fitting.write_pack import refusals, write_pack, write_parts
        from care_planner.problems import Problem, ProblemsFound
        from care_planner.show.scores import score_lines

        asked, problems = read_spec(spec)
        problems += refusals(out)
        if asked is None or problems:
            raise ProblemsFound(problems)
        _say("reading records")
        records = read_records(observations, temperature, stations, [event.id for event in asked.events])
        try:
            fitted = fit_pack(asked, records, _say, parts=held_out is not None)
        except TooLittle as missing:
            raise ProblemsFound([Problem(str(observations), 0, str(missing))]) from None
        write_pack(out, fitted.text)
        if held_out is not None:
            write_parts(held_out, asked.taxon, fitted, records)
        for line in score_lines(fitted.lines):
            click.echo(line)
        click.echo(f"written: {out}")


def _say(words: str) -> None:
    click.echo(f"  {words}", err=True)
