"""care-planner fit as a person runs it: a pack to plan by, the same bytes again, clear mistakes."""

import gzip
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from fitted import MAPLE, WISTERIA, event, files, records, spec

from care_planner.cli import main
from care_planner.learning.fitting.choose_form import Chain
from care_planner.learning.fitting.fit import fit_pack
from care_planner.learning.fitting.need_forms import Gathering, NeedForm
from care_planner.learning.fitting.pack_text import MADE_BY
from care_planner.learning.fitting.read_records import read_records
from care_planner.learning.fitting.records import Records, lay
from care_planner.learning.fitting.search import errors_of
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.tools.write_scores import stale_scores

PROJECT = Path(__file__).parents[2]


def fit(folder: Path, text: str, name: str, *more: object, out: str = "pack.yaml") -> Result:
    """The command on a spec and the files of a kind."""
    path = folder / "spec.yaml"
    path.write_text(text, encoding="utf-8")
    seen, weather = files(name)
    asked = ["fit", path, "--observations", seen, "--temperature", weather, "--out", folder / out, *more]
    return CliRunner().invoke(main, [str(arg) for arg in asked])


@pytest.fixture(scope="module")
def maple(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    folder = tmp_path_factory.mktemp("maple")
    return folder, fit(folder, MAPLE, "japanese_maple", "--held-out", folder / "parts")


def test_it_writes_a_pack_that_makes_its_taxon_plannable(maple: tuple[Path, Result]) -> None:
    folder, result = maple
    assert result.exit_code == 0, result.output
    own = folder / "rules"
    own.mkdir()
    (own / "japanese-maple.yaml").write_bytes((folder / "pack.yaml").read_bytes())
    rulebook, problems = read_rulebook(own, [])
    assert problems == []
    rules = rulebook.taxa["japanese-maple"]
    assert rules.stages["leaf-colour"].event_id == "colour_start"
    assert rules.stages["leaf-colour"].reached.warmth is not None
    assert rules.in_row["colour-peak"][0][0] == "leaf-colour"
    assert rules.scores is not None and {line.stage for line in rules.scores.lines} == {
        "leaf-colour",
        "colour-peak",
    }
    assert stale_scores(rulebook) == []


def test_it_says_where_it_is_and_how_well_it_did(maple: tuple[Path, Result]) -> None:
    said = maple[1].output
    assert "colour_start: cold, part 1 of 3" in said
    assert "new_site                leaf-colour" in said
    assert all(len(line) <= 80 for line in said.splitlines() if not line.startswith("written: "))


def test_same_input_same_bytes_whatever_the_hash_seed(maple: tuple[Path, Result], tmp_path: Path) -> None:
    seen, weather = files("japanese_maple")
    command = [sys.executable, "-m", "care_planner.cli", "fit", str(maple[0] / "spec.yaml")]
    command += ["--observations", str(seen), "--temperature", str(weather), "--out", str(tmp_path / "p.yaml")]
    seeded = {**os.environ, "PYTHONHASHSEED": "7"}
    subprocess.run(command, cwd=PROJECT, env=seeded, check=True, capture_output=True)
    assert (tmp_path / "p.yaml").read_bytes() == (maple[0] / "pack.yaml").read_bytes()


def test_each_part_has_a_pack_and_the_notes_it_has_not_seen(maple: tuple[Path, Result]) -> None:
    parts = sorted((maple[0] / "parts").iterdir())
    heard = [(part / "observations.csv").read_text(encoding="utf-8").splitlines()[1:] for part in parts]
    stations = [{line.split(",")[0] for line in lines} for lines in heard]
    assert [len(names) for names in stations] == [1, 1, 1]
    assert set.union(*stations) == {"Daegu", "Seoul", "Ulsan"}
    texts = {(part / "japanese-maple.yaml").read_text(encoding="utf-8") for part in parts}
    assert len(texts) == 3


def moved(kept: Records, station: str, days: int) -> Records:
    """The records with one station's notes moved."""
    noted = {key: day + (days if key[0] == station else 0) for key, day in kept.noted.items()}
    return Records(noted, kept.weather, kept.latitudes)


def test_a_station_has_no_say_in_the_numbers_it_is_forecast_by() -> None:
    asked = spec(event("colour_start", "autumn"))
    kept = records("japanese_maple")
    plain, other = (Chain(asked, asked.events, r).choose(str) for r in (kept, moved(kept, "Seoul", 9)))
    own, same = (next(left for left in c.left if "Seoul" in left.stations) for c in (plain, other))
    assert own.fit == same.fit
    assert plain.fit.sums != other.fit.sums


def made_up(kept: Records, form: NeedForm, needed: float) -> Records:
    """Events that come just when a form says."""
    seasons = lay(kept, "spring", ["first_flower"])
    gained, start = Gathering(seasons, 92, 360).gained(form)
    errors, rows = errors_of(gained, start, seasons.days["first_flower"], needed)
    days = errors + seasons.days["first_flower"][rows] + seasons.first_ordinals()[rows]
    noted = {
        (seasons.stations[row], int(seasons.years[row]), "first_flower"): int(day)
        for row, day in zip(rows, days, strict=True)
    }
    return Records(noted, kept.weather, kept.latitudes)


@pytest.mark.parametrize("times", [1.0, 1.6])
def test_a_law_that_made_the_events_is_found_again(times: float) -> None:
    """Chill that has a say is found; chill that has none is not paid for."""
    family = "forcing-with-chill" if times > 1 else "forcing"
    law = NeedForm(family, "02-01", None, 14.0, 0.2, "10-01", 3.0, 1300.0, times)  # type: ignore[arg-type]
    kept = made_up(records("wisteria"), law, 11.0)
    asked = spec(event("first_flower", "spring")).model_copy(
        update={"families": ["forcing", "forcing-with-chill"], "warmth_from": ["02-01"]}
    )
    chain = Chain(asked, asked.events, kept)
    chosen = chain.choose(str)
    assert chosen.fit.form.family == family
    errors = np.concatenate([chain.errors(left)["first_flower"] for left in chosen.left])
    assert np.sqrt(np.mean(errors**2)) < 1.5


def test_a_pack_that_a_person_wrote_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "pack.yaml").write_text("pack: mine\n", encoding="utf-8")
    result = fit(tmp_path, WISTERIA, "wisteria")
    assert result.exit_code == 2
    assert "pack.yaml:1: a pack that was not made by fit stands there" in result.output
    assert (tmp_path / "pack.yaml").read_text(encoding="utf-8") == "pack: mine\n"


def test_a_pack_made_by_fit_is_replaced(maple: tuple[Path, Result]) -> None:
    assert (maple[0] / "pack.yaml").read_text(encoding="utf-8").startswith(MADE_BY + "\n")
    again = fit(maple[0], MAPLE, "japanese_maple")
    assert again.exit_code == 0, again.output


def test_all_mistakes_of_a_spec_are_told_with_their_lines(tmp_path: Path) -> None:
    text = MAPLE.replace("season: autumn\n    after: colour_start", "season: spring\n    after: colour_strat")
    text = text.replace("kind: deciduous", "kind: leafy")
    result = fit(tmp_path, text, "japanese_maple")
    assert result.exit_code == 2
    assert "spec.yaml:3: kind is 'leafy'" in result.output
    chained = fit(tmp_path, text.replace("leafy", "deciduous"), "japanese_maple")
    assert (
        "spec.yaml:11: after names no event 'colour_strat'; an event above it: colour_start" in chained.output
    )


def test_all_mistakes_of_the_records_are_told_with_their_lines(tmp_path: Path) -> None:
    seen = tmp_path / "seen"
    seen.mkdir()
    head = "station,year,event,date\n"
    (seen / "a.csv").write_text(head + "Seoul,2001,colour_start,2001-13-01\n,x,colour_start,2001-10-20\n")
    bad = "Seoul,2001,colour_start,2009-10-20\nSeoul,2002,colour_start,2002-10-20\n"
    (seen / "b.csv.gz").write_bytes(gzip.compress((head + bad).encode()))
    (tmp_path / "t.csv").write_text(
        "station,date,tmin_c,tmax_c\nSeoul,2001-10-01,12,cold\nSeoul,2001-10-02,9,3\n"
    )
    (tmp_path / "spec.yaml").write_text(MAPLE, encoding="utf-8")
    asked = ["fit", "spec.yaml", "--observations", "seen", "--temperature", "t.csv", "--out", "p.yaml"]
    place = Path.cwd()
    try:
        os.chdir(tmp_path)
        result = CliRunner().invoke(main, asked)
    finally:
        os.chdir(place)
    assert result.exit_code == 2
    for told in (
        "seen/a.csv:2: date is '2001-13-01', not a date; 2027-03-01",
        "seen/a.csv:3: year is 'x', not a year; 2027",
        "seen/b.csv.gz:2: the date 2009-10-20 is not of the season 2001",
        "t.csv:2: '12' and 'cold' are not two temperatures; degC, or nothing",
        "t.csv:3: tmin_c 9 is above tmax_c 3; tmin_c at most tmax_c",
    ):
        assert told in result.output
    assert not (tmp_path / "p.yaml").exists()


def test_too_few_stations_are_told_and_nothing_is_written(tmp_path: Path) -> None:
    result = fit(tmp_path, WISTERIA.replace("first_flower,", "bud_burst,"), "wisteria")
    assert result.exit_code == 2
    assert "0 stations have notes of bud_burst and whole weather; 3 at least" in result.output
    assert not (tmp_path / "pack.yaml").exists()


def test_a_folder_of_files_is_as_one_file(tmp_path: Path) -> None:
    seen, weather = files("japanese_maple")
    text = gzip.decompress(seen.read_bytes()).decode()
    head, *rows = text.splitlines(keepends=True)
    for k in range(2):
        (tmp_path / f"{k}.csv").write_text(head + "".join(rows[k::2]), encoding="utf-8")
    assert read_records(tmp_path, weather, None).noted == read_records(seen, weather, None).noted


def test_several_chains_are_parts_of_the_year() -> None:
    """Events that do not follow one another share no form, and do not speak of each other's pace."""
    asked = spec(event("colour_start", "autumn"), event("colour_peak", "autumn"))
    fitted = fit_pack(asked, records("japanese_maple"), str)
    assert "parts:" in fitted.text and "part-2:" in fitted.text
