"""Small made-up worlds for tests of the engine: smooth weather, a few trees, packs written as text."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.journal.model import Entry, JournalFile
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.years.basis import Basis
from care_planner.years.outcome import Outcome
from care_planner.years.profiles import noted_trees, resolve_profile, twins
from care_planner.years.state import TreeYears

LATITUDE = 37.75
# A tree without flowers, day length or dates in its stages: it waits for cold and for warmth only.
PLAIN = """\
pack: plain-tree
title: Plain tree
about: Waits for cold and for warmth only.
taxon:
  botanical: Arbor plana
  kind: deciduous
  flowers: no
  pace: {spread: 0.1, source: made up}
  frost_limit_c: {hardened: -3.0, young: 0.0, roots_worked: 0.0, source: made up}
  repot_every_years: {young: 2, established: 3, source: made up}
stages:
  - id: dormancy-broken
    title: Rest satisfied
    bbch: "00"
    reached:
      chill: {by: {method: hours, low_c: -2, high_c: 9}, sum: 500}
      since: {stage: rest, season: previous}
  - id: bud-swell
    title: Buds swell
    bbch: "01"
    reached: {warmth: {by: {method: single-sine, base_c: 5}, sum: 60}, since: {stage: dormancy-broken}}
  - id: flush
    title: Shoots lengthen
    bbch: "31"
    reached: {warmth: {by: {method: single-sine, base_c: 5}, sum: 200}, since: {stage: bud-swell}}
  - {id: end-of-growth, title: Growth ends, bbch: "91", reached: {held: {at_most_c: 13, days: 5}}}
  - id: rest
    title: Leaves fallen
    bbch: "97"
    reached: {held: {at_most_c: 8, days: 5}, since: {stage: end-of-growth}}
"""
# The same with flowers, their share open, and buds that are set on the growth after the last cut.
FLOWERING = (
    PLAIN.replace("plain-tree", "flowering-tree")
    .replace("  flowers: no\n", "  flowers: yes\n")
    .replace(
        "stages:\n",
        """\
  bloom_curve:
    since: first-flower
    by: {method: average, base_c: 0}
    points: [{open: 0.0, sum: 0}, {open: 0.5, sum: 100}, {open: 1.0, sum: 300}]
    source: made up
stages:
  - id: first-flower
    title: First flower open
    bbch: "60"
    flowering: yes
    reached: {warmth: {by: {method: single-sine, base_c: 5}, sum: 250}, since: {stage: bud-swell}}
  - {id: half-open, title: Half open, bbch: "65", flowering: yes, reached: {share_open: 0.5}}
  - id: end-of-bloom
    title: End of bloom
    bbch: "69"
    flowering: yes
    reached: {warmth: {by: {method: average, base_c: 0}, sum: 350}, since: {stage: first-flower}}
  - id: flower-bud-set
    title: Flower buds set
    bbch: "51"
    reached:
      latest:
        - {stage: end-of-bloom, plus_days: 20}
        - warmth: {by: {method: average, base_c: 5}, sum: 500}
          since: {latest: [{stage: flush}, {last_cut: any}]}
""",
    )
)
_RULE = """\
  - id: {id}
    title: {title}
    kind: {kind}
    what: Do it.
    why: It helps.
    source: made up
    minutes: {{small: 10, large: 60}}
    {body}
"""


def rule(id: str, body: str, kind: str = "cuttings", title: str = "") -> str:
    """A rule of a pack; `body` holds what it says of itself, a key a line."""
    lines = "\n    ".join(body.strip().splitlines())
    return _RULE.format(id=id, title=title or id.replace("-", " ").capitalize(), kind=kind, body=lines)


def pack_text(base: str, *rules: str, signs: Sequence[str] = ()) -> str:
    """A pack with rules."""
    text = base.replace("taxon:\n", f"signs: [{', '.join(signs)}]\ntaxon:\n", 1) if signs else base
    return text + ("rules:\n" + "".join(rules) if rules else "")


@cache
def rulebook(*texts: str) -> Rulebook:
    """The rules of packs given as text, nothing else."""
    with TemporaryDirectory() as folder:
        for text in texts:
            (Path(folder) / f"{text.split()[1]}.yaml").write_text(text, encoding="utf-8")
        found, problems = read_rulebook(shipped=Path(folder))
    assert not problems, "\n".join(map(str, problems))
    return found


@cache
def shipped(*taxa: str) -> Rulebook:
    """The rules that come with the program."""
    found, problems = read_rulebook(taxa=taxa or None)
    assert not problems, "\n".join(map(str, problems))
    return found


@cache
def smooth_record(
    first_year: int = 2000,
    years: int = 13,
    mean_c: float = 13.0,
    swing_c: float = 11.5,
    coldest_day: float = 21.0,
    half_range_c: float = 5.0,
    differ_c: float = 1.0,
) -> WeatherRecord:
    """Years of a cosine over the year, from June to June; the seasons differ by up to `differ_c`.

    Daily mean `mean_c` on average, `swing_c` either way, coldest on `coldest_day` of the year; nights
    `half_range_c` below the mean and days as much above (all degC).
    """
    first = date(first_year, 6, 1).toordinal()
    days = np.arange(first, date(first_year + years, 6, 1).toordinal())
    start = date(first_year, 1, 1).toordinal()
    season = ((days - start) // 365.25).astype(np.int64)
    shift = differ_c * np.linspace(-1.0, 1.0, years + 1)[season * 5 % (years + 1)]
    mean = mean_c - swing_c * np.cos(2 * np.pi * (days - start - coldest_day) / 365.25) + shift
    return WeatherRecord(
        first, mean - half_range_c, mean + half_range_c, mean, source="smooth weather made for tests"
    )


def moved(record: WeatherRecord, days: int) -> WeatherRecord:
    """The whole record so many days later."""
    return replace(record, first_day=record.first_day + days)


def warmer(record: WeatherRecord, by_c: float) -> WeatherRecord:
    """The whole record so much warmer."""
    parts = {name: getattr(record, name) + by_c for name in ("tmin_c", "tmax_c", "tmean_c")}
    return replace(record, **parts)


def collection(*trees: Mapping[str, Any], **other: Any) -> Collection:
    """Trees as a person writes them; what is not told is strong, established, on the open bench."""
    usual = {"taxon": "plain-tree", "bench": "open", "age": "established", "condition": "strong"}
    site = {"latitude": LATITUDE, "longitude": 128.0, "timezone": "Asia/Seoul", "weather": "x.csv"}
    benches = {"open": {}, "shed": {"floor_c": 2, "vent_c": 8}, "pocket": {"offset_c": -2}}
    parts = {"site": {**site, **other.pop("site", {})}, "benches": other.pop("benches", benches)}
    written = [{"id": f"tree-{i}", **usual, **tree} for i, tree in enumerate(trees, start=1)]
    return Collection.model_validate(_texts({**parts, **other, "trees": written}))


def _texts(value: Any) -> Any:
    """Scalars as the text of a file, as the reader hands them on."""
    if isinstance(value, Mapping):
        return {str(key): _texts(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_texts(part) for part in value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if value is None else str(value)


def notes(*written: Mapping[str, Any], tree: str = "tree-1") -> list[Entry]:
    """Journal entries as a person writes them."""
    lines = [{"tree": tree, **{k.removesuffix("_"): v for k, v in note.items()}} for note in written]
    parsed = JournalFile.model_validate(_texts(lines))
    return [entry for one in parsed.root for entry in one.entries("notes.yaml", 1)]


def day(text: str) -> int:
    """An ISO date as an ordinal."""
    return date.fromisoformat(text).toordinal()


def resolved(
    rules: Rulebook,
    *trees: Mapping[str, Any],
    today: str = "2021-01-10",
    entries: Iterable[Entry] = (),
    record: WeatherRecord | None = None,
    **other: Any,
) -> TreeYears:
    """The first tree's years, resolved as a plan does."""
    all_trees = collection(*(trees or ({},)), **other)
    basis = Basis(all_trees, record or smooth_record(), rules, day(today))
    noted = noted_trees(all_trees, entries, basis.shared)
    profile, _ = twins(noted, day(today), learnt=basis.learn(noted))[0]
    return resolve_profile(profile, rules, basis.shared)


def outcome(years: TreeYears, id: str, step: int = 0) -> Outcome:
    """What became of a rule."""
    return years.outcomes[id, step]
