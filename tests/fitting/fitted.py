"""Specs and files that the tests of fitting share."""

from pathlib import Path

from care_planner.learning.fitting.read_records import read_records
from care_planner.learning.fitting.records import Records
from care_planner.learning.fitting.spec import FitEvent, FitSpec, Season

DATA = Path(__file__).parents[1] / "data"
WISTERIA = """\
{taxon: wisteria, botanical: Wisteria floribunda, kind: deciduous, families: [forcing],
 warmth_from: ["02-15"],
 events: [{id: first_flower, stage: first-flower, title: First flower open, bbch: "60", season: spring}]}
"""
MAPLE = """\
taxon: japanese-maple
botanical: Acer palmatum
kind: deciduous
events:
  - {id: colour_start, stage: leaf-colour, title: Leaves colour, bbch: "92", season: autumn}
  - id: colour_peak
    stage: colour-peak
    title: Colour at its height
    bbch: "92"
    season: autumn
    after: colour_start
"""


def files(name: str) -> tuple[Path, Path]:
    """Observations and temperatures of a kind."""
    return DATA / f"{name}_observations.csv.gz", DATA / f"{name}_temperature.csv.gz"


def records(name: str) -> Records:
    """The records of a kind."""
    return read_records(*files(name), None)


def event(id: str, season: Season, after: str | None = None) -> FitEvent:
    """An event whose stage is called as it is."""
    stage, bbch = id.replace("_", "-"), "92" if season == "autumn" else "60"
    return FitEvent(id=id, stage=stage, title=stage, bbch=bbch, season=season, after=after)


def spec(*events: FitEvent) -> FitSpec:
    """A spec of some events."""
    return FitSpec(taxon="some-tree", botanical="Arbor quaedam", kind="deciduous", events=list(events))
