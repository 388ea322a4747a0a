"""start: six questions, or none, and a folder that plans; manual: how to go on."""

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from care_planner.commands.tools import WRONG_INPUT, echo, now_in, today_option, told

if TYPE_CHECKING:
    from collections.abc import Iterable

    from care_planner.collection.gazetteer.town import Town
    from care_planner.folder.lists.read_sheet import CellSheet
    from care_planner.folder.lists.trees import Taxa, TreeList
    from care_planner.folder.starter_answers import StarterAnswers

NO_ANSWER = "none"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Ask nothing; take the defaults and what the options say.")
@click.option(
    "--place", help="The nearest town: position, height and time zone follow (Ghent, or Ghent, BE)."
)
@click.option(
    "--trees", type=click.Path(path_type=Path), help="A list of trees: .csv or .xlsx with headings."
)
@click.option(
    "--journal", type=click.Path(path_type=Path), help="Notes as `table FOLDER journal` writes them."
)
@click.option("--weather", help="'station', 'rough', or a file with a daily record.")
@today_option
def start(
    folder: Path,
    yes: bool,
    place: str | None,
    trees: Path | None,
    journal: Path | None,
    weather: str | None,
    today: date | None,
) -> None:
    """Start a new collection; in a terminal it asks six questions.

    Without a place it writes a commented collection to fill in.
    """
    with told():
        taxa = _taxa()
        sheet = _sheet(trees) if trees is not None else None
        listed = _listed(sheet, taxa) if sheet is not None else None
        notes = _notes(journal) if journal is not None else None
        asks = not yes and sys.stdin.isatty()
        answers = _answers(place, weather, listed, taxa, asks)
        town = answers.place
        if sheet is not None and town is not None and town.latitude < 0:
            listed = _listed(sheet, taxa, south=True)
            answers = _with(answers, trees=listed.trees)
        if town is not None and notes is None:  # an old journal tells what was done before
            answers = _with(answers, today=today or now_in(town.timezone).date())
        if sheet is not None and listed is not None and town is not None:
            _tell_list(sheet.file, listed)
        _write(folder, answers, listed, notes, weather)


def _taxa() -> "Taxa":
    from care_planner.rulebook.read_packs import read_rulebook

    rulebook, _ = read_rulebook()
    return {id: (rules.title, rules.taxon.botanical) for id, rules in rulebook.taxa.items()}


def _bare(taxa: "Iterable[str]") -> list[str]:
    """What has to be known of kinds without works of their own."""
    from care_planner.rulebook.read_packs import read_rulebook
    from care_planner.show.wrapping import wrapped
    from care_planner.words.bare_kinds import bare_kinds

    return [line for said in bare_kinds(taxa, read_rulebook()[0]) for line in wrapped(said)]


def _sheet(path: Path) -> "CellSheet":
    from care_planner.folder.lists.read_sheet import read_sheet
    from care_planner.problems import ProblemsFound

    sheet, problems = read_sheet(path)
    if sheet is None:
        raise ProblemsFound(problems)
    return sheet


def _listed(sheet: "CellSheet", taxa: "Taxa", south: bool = False) -> "TreeList":
    from care_planner.folder.lists.trees import tree_list
    from care_planner.problems import ProblemsFound

    listed, problems = tree_list(sheet, taxa, south)
    if problems:
        raise ProblemsFound(problems)
    return listed


def _tell_list(name: str, listed: "TreeList") -> None:
    """What was read from a list, before it is written: columns, what they were taken for, and guesses."""
    from care_planner.show.wrapping import wrapped

    columns = ", ".join(
        heading if heading.casefold() == key else f"{heading} as {key}" for heading, key in listed.used
    )
    lines = [f"{name}: {len(listed.trees)} trees; columns read: {columns}", *listed.read_as]
    if listed.left_out:
        lines.append(f"columns that are not used: {', '.join(listed.left_out)}")
    for number, line in enumerate(lines):
        for part in wrapped(line, "  " if number else "", "    "):
            echo(part)


def _notes(path: Path) -> list[dict[str, Any]]:
    from care_planner.folder.lists.notes import note_list
    from care_planner.folder.lists.read_sheet import read_sheet
    from care_planner.problems import ProblemsFound

    sheet, problems = read_sheet(path)
    entries, faults = note_list(sheet) if sheet is not None else ([], [])
    if problems or faults:
        raise ProblemsFound([*problems, *faults])
    return entries


def _answers(
    place: str | None,
    weather: str | None,
    listed: "TreeList | None",
    taxa: "Taxa",
    asks: bool,
) -> "StarterAnswers":
    from care_planner.folder.starter_answers import ROUGH, STATION, StarterAnswers

    given = Path(weather).name if weather not in (None, STATION, ROUGH) else weather or ROUGH
    answers = StarterAnswers(place=_placed(place, asks) if place else None, weather=str(given))
    if listed is not None:
        named = listed.benches()
        stands = {str(tree["bench"]) for tree in listed.trees}
        winter = {str(tree["winter_bench"]) for tree in listed.trees if "winter_bench" in tree} - stands
        open_air = tuple(bench for bench in named if bench not in winter)
        answers = _with(
            answers, trees=listed.trees, benches=open_air, shelters=tuple(sorted(winter)), winter=None
        )
    if not asks:
        return answers
    return _asked(answers, weather, taxa)


def _asked(answers: "StarterAnswers", weather: str | None, taxa: "Taxa") -> "StarterAnswers":
    """The six questions; what an option or a list has answered is not asked again."""
    from care_planner.folder.starter_answers import ROUGH, STATION, named_benches, named_days

    if answers.place is None:
        answers = _with(answers, place=_ask_place())
    if not answers.trees:
        stands = named_benches(click.prompt("Where do the trees stand? Your own names", "open"))
        winter = " ".join(click.prompt("Where in winter? A shelter's name, or none", "shed").split())
        shelters = () if winter.lower() == NO_ANSWER else (winter,)
        answers = _with(
            answers,
            benches=stands or answers.benches,
            shelters=shelters,
            winter=next(iter(shelters), None),
            trees=_ask_trees(taxa),
        )
    days = None
    while days is None:
        told_days = click.prompt("Which days are yours", "sat, sun")
        days = named_days(told_days)
        if days is None:
            echo(f"{told_days!r} names no days; such as: sat, sun, or weekend, or every day")
    answers = _with(answers, days=days)
    if weather is None:
        echo("Weather: station (the nearest, fetched), rough (a mild place's), or a file's path")
        named = click.prompt("Which", default=STATION).strip()
        while named not in (STATION, ROUGH) and not Path(named).is_file():
            echo(f"{named!r} is no file here")
            named = click.prompt("Which", default=STATION).strip()
        answers = _with(answers, weather=named)
    return answers


def _ask_trees(taxa: "Taxa") -> list[dict[str, Any]]:
    from care_planner.folder.starter_answers import named_trees

    echo(f"Kinds: {', '.join(taxa)}")
    while True:
        trees, unclear = named_trees(click.prompt("Your trees, such as: 5 satsuki, 2 maple"), taxa)
        if trees and not unclear:
            return trees
        echo(f"Not clear: {'; '.join(unclear) or 'nothing'}. One of the kinds above, please.")


def _with(answers: "StarterAnswers", **changed: Any) -> "StarterAnswers":
    from dataclasses import replace

    return replace(answers, **changed)


def _ask_place() -> "Town":
    while True:
        place = _placed(click.prompt("Nearest town (Ghent, or Ghent, BE)"), asks=True)
        if place is not None:
            return place


def _placed(text: str, asks: bool) -> "Town | None":
    """The place that is meant; one of several is asked for, or refused where nobody can be asked."""
    from care_planner.collection.gazetteer.read_places import read_places
    from care_planner.collection.gazetteer.town import MOST_SHOWN, meant

    place, found = meant(read_places(text))
    if place is not None:
        others = f" (not {', '.join(other.label for other in found[1:4])})" if len(found) > 1 else ""
        echo(f"{place.label}{others}: {place.latitude:g}, {place.longitude:g}, {place.timezone}")
        return place
    shown = found[:MOST_SHOWN]
    if asks and shown:
        for number, one in enumerate(shown, start=1):
            echo(f"  {number}  {one.label}  {one.timezone}, {one.inhabitants:,} inhabitants")
        return shown[click.prompt("Which one", type=click.IntRange(1, len(shown))) - 1]
    if shown:
        echo(f"--place {text!r} can be: {'; '.join(one.label for one in shown)}; name one of these", err=True)
    else:
        named = repr(text) if asks else f"--place {text!r}"
        echo(f"{named} is not known; allowed: a town of 2,000 people or more, nearby", err=True)
    if asks:
        return None
    sys.exit(WRONG_INPUT)


def _write(
    folder: Path,
    answers: "StarterAnswers",
    listed: "TreeList | None",
    notes: list[dict[str, Any]] | None,
    weather: str | None,
) -> None:
    from care_planner.folder.lists.text import flow
    from care_planner.folder.starter_answers import ROUGH, STATION, answered_text, starter_trees
    from care_planner.folder.starter_text import COLLECTION, JOURNAL
    from care_planner.folder.write_starter import write_starter
    from care_planner.problems import Problem, ProblemsFound

    if answers.place is None and listed is not None:
        raise ProblemsFound([Problem("--trees", 0, "wants a place too", "--place TOWN")])
    source = None
    if answers.weather not in (STATION, ROUGH):
        source = Path(weather or answers.weather)
        if not source.is_file():
            raise ProblemsFound(
                [Problem(str(source), 0, "no such weather file", "station, rough or a CSV file")]
            )
        answers = _with(answers, weather=source.name)
    if answers.place is not None:
        answers = starter_trees(answers)
    text = COLLECTION if answers.place is None else answered_text(answers)
    journal = JOURNAL + "".join(f"- {flow(entry)}\n" for entry in notes or ())
    problems = write_starter(folder, text, journal, source)
    if problems:
        raise ProblemsFound(problems)
    if answers.weather == ROUGH:
        echo("The weather is a rough guess, of a mild place by the sea; so is every date.")
        echo("  care-planner manual weather   tells how to give your own")
    for line in _bare(str(tree["taxon"]) for tree in answers.trees):
        echo(line)
    echo(f"{folder}: a new collection of {len(answers.trees) or 4} trees. Next:")
    if answers.place is None:
        echo(f"  edit {folder}/collection.yaml (the lines marked CHANGE), then")
    echo(f"  care-planner answer {folder}    a few facts that decide most works")
    echo(f"  care-planner plan {folder}      the plan and its calendar")


@click.command()
@click.argument("page", required=False)
def manual(page: str | None) -> None:
    """Print a page of the manual, or its contents."""
    from care_planner.folder.read_manual import PAGES, read_contents, read_manual
    from care_planner.problems import did_you_mean

    if page is None:
        for name, heading in read_contents():
            echo(f"  {name:<12}{heading}")
        return
    if page not in PAGES:
        echo(f"no page {page!r}; {did_you_mean(page, PAGES)}", err=True)
        sys.exit(WRONG_INPUT)
    echo(read_manual(page), nl=False)
