"""Whatever comes after the day a forecast is made, of weather or notes, changes nothing in it.

On open records: Korea Meteorological Administration, Ulsan, spring and autumn (tests/data/SOURCES.md). Two
copies of the files differ in every value from a day on; the predictions made before it must be the same.
"""

import csv
import gzip
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
DATA = PROJECT / "tests" / "data"
STATION = "Ulsan"
CUTS = {"korean-azalea": date(2003, 3, 20), "japanese-maple": date(2013, 10, 1)}
LINES = {
    "korean-azalea": {"own_seasons.3", "earlier_stage_forecast", "made_1_january", "made_1_march"},
    "japanese-maple": {"own_seasons.3", "earlier_stage_forecast", "made_1_september"},
}
MADE = {"made_1_january": 1, "made_1_march": 3, "made_1_september": 9}
EARLIER = {"first_flower": "bud_burst", "full_bloom": "first_flower", "colour_peak": "colour_start"}
Predictions = dict[tuple[str, str, int], tuple[str, str, str]]


def rows(taxon: str, name: str) -> list[dict[str, str]]:
    with gzip.open(DATA / f"{taxon.replace('-', '_')}_{name}.csv.gz", "rt", encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if row["station"] == STATION]


def changed(row: dict[str, str], cut: date) -> dict[str, str]:
    """Another value for what is dated from the cut on: colder by 4 degC, noted nine days later."""
    day = date.fromisoformat(row["date"])
    if day < cut:
        return row
    if "event" in row:
        return {**row, "date": (day + timedelta(9)).isoformat()}
    return {**row, **{key: f"{float(row[key]) - 4:.1f}" for key in ("tmin_c", "tmax_c") if row[key]}}


def predictions(folder: Path, taxon: str, change: bool) -> Predictions:
    folder.mkdir()
    for name in ("observations", "temperature"):
        kept = [changed(row, CUTS[taxon]) if change else row for row in rows(taxon, name)]
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(kept[0]))
            writer.writeheader()
            writer.writerows(kept)
    files = [
        part for name in ("observations", "temperature") for part in (f"--{name}", f"{folder}/{name}.csv")
    ]
    command = [
        sys.executable,
        "tests/benchmarks/forecast_skill.py",
        *files,
        "--taxon",
        taxon,
        "--predictions",
        f"{folder}/out.csv",
    ]
    subprocess.run(command, cwd=PROJECT, capture_output=True, check=True)
    with (folder / "out.csv").open(encoding="utf-8") as file:
        return {
            (row["line"], row["event"], int(row["year"])): (row["p10"], row["p50"], row["p90"])
            for row in csv.DictReader(file)
        }


def made_before(key: tuple[str, str, int], cut: date, noted: dict[tuple[str, int], date]) -> bool:
    """Whether a forecast is made before the cut; that of a season's known weather not before its event."""
    line, event, year = key
    if line in MADE:
        return date(year, MADE[line], 1) < cut
    if line == "earlier_stage_forecast":
        return noted[EARLIER[event], year] < cut
    return year < cut.year


@pytest.mark.parametrize("taxon", sorted(CUTS))
def test_no_forecast_sees_the_future(taxon: str, tmp_path: Path) -> None:
    cut = CUTS[taxon]
    one, other = (predictions(tmp_path / name, taxon, name == "changed") for name in ("same", "changed"))
    noted = {(r["event"], int(r["year"])): date.fromisoformat(r["date"]) for r in rows(taxon, "observations")}
    early = {key for key in one if made_before(key, cut, noted)}
    assert {"new_site", *LINES[taxon]} <= {line for line, _, _ in early}
    assert {key: one[key] for key in early} == {key: other.get(key) for key in early}
    # Or the test would compare nothing: what is made later does change.
    late = {key for key in one.keys() & other.keys() if key[2] > cut.year}
    assert sum(one[key] != other[key] for key in late) > len(late) / 2
    assert any(year == cut.year for _, _, year in early)
