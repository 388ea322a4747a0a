"""From records and a spec to a pack: the flow on one page. Pure but for what `progress` does."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.learning.fitting.choose_form import PARTS, Chain, Chosen, Left, Progress
from care_planner.learning.fitting.paces import NORMAL_80, LogPaces, Shares, fit_shares, joined, log_paces
from care_planner.learning.fitting.pack_text import Data, head_lines, pack_data, pack_text, scores_data
from care_planner.learning.fitting.records import Records
from care_planner.learning.fitting.spec import FitSpec
from care_planner.rulebook.pack import Pack
from care_planner.rulebook.scores import ScoreLine, mark_of
from care_planner.stages.reach import Floats, Ints
from care_planner.typed_yaml.read_yaml import parse_yaml, validate

COMMAND = "care-planner fit"
OWN_SEASONS = (3, 10)


@dataclass(frozen=True, eq=False)
class LeftOutPart:
    """The stations left out in one part, and the text of the pack that has not seen them."""

    stations: tuple[str, ...]
    text: str


@dataclass(frozen=True, eq=False)
class FittedTaxon:
    """The pack, its scores, and the packs of the parts (where they were asked for)."""

    text: str
    lines: tuple[ScoreLine, ...]
    parts: tuple[LeftOutPart, ...]


def fit_pack(spec: FitSpec, records: Records, progress: Progress, *, parts: bool = False) -> FittedTaxon:
    """Fit every chain of events; `parts` makes the packs for held-out forecasts as well.

    Raises TooLittle where the records do not hold enough.
    """
    chains = [Chain(spec, events, records) for events in spec.chains()]
    chosen = [chain.choose(progress) for chain in chains]
    pairs = list(zip(chains, chosen, strict=True))
    left_out = [joined([_paces(chain, left.stations, left) for left in own.left]) for chain, own in pairs]
    progress("learning shares")
    shares = [fit_shares(found, _stage_of(own)) for found, own in zip(left_out, chosen, strict=True)]
    lines = [
        line for (chain, own), share in zip(pairs, shares, strict=True) for line in _score(chain, own, share)
    ]
    text = _text(spec, chosen, shares, lines, records)
    made = _parts(spec, pairs, lines, records, progress) if parts else ()
    return FittedTaxon(text, tuple(lines), made)


def _stage_of(own: Chosen) -> dict[str, str]:
    return {event.id: event.stage for event in own.events}


def _paces(chain: Chain, stations: Sequence[str], left: Left) -> dict[str, LogPaces]:
    seasons = chain.seasons.of(stations)
    return log_paces(seasons, left.fit, chain.first, chain.last)


def _parts(
    spec: FitSpec,
    pairs: Sequence[tuple[Chain, Chosen]],
    lines: Sequence[ScoreLine],
    records: Records,
    progress: Progress,
) -> tuple[LeftOutPart, ...]:
    """The packs that have not seen the stations of a part: numbers, spreads and shares are the others'."""
    names = sorted({station for _, own in pairs for left in own.left for station in left.stations})
    made = []
    for k in range(min(PARTS, len(names))):
        progress(f"learning shares without part {k + 1}")
        chosen, shares = [], []
        for chain, own in pairs:
            if k >= len(own.left):
                chosen.append(own)
                continue
            others = [left for i, left in enumerate(own.left) if i != k]
            found = joined([_paces(chain, left.stations, own.left[k]) for left in others])
            shares.append(fit_shares(found, _stage_of(own)))
            chosen.append(Chosen(own.events, own.seasons, own.left[k].fit, own.left, own.losses, own.width))
        stations = sorted({s for _, own in pairs if k < len(own.left) for s in own.left[k].stations})
        if len(shares) == len(pairs):
            made.append(LeftOutPart(tuple(stations), _text(spec, chosen, shares, lines, records)))
    return tuple(made)


def _text(
    spec: FitSpec,
    chosen: Sequence[Chosen],
    shares: Sequence[Shares],
    lines: Sequence[ScoreLine],
    records: Records,
) -> str:
    on = _records_words(spec, records)
    by = f"{COMMAND}, each station by numbers fitted without it ({PARTS} parts)"
    source = f"FittedTaxon; 80 % of the notes of stations left out lie inside the 80 % span. On {on}"
    data = pack_data(spec, chosen, shares, source, on, COMMAND)
    pack = _read_back(data)
    assert pack.taxon is not None
    numbers = mark_of(pack.stages, pack.taxon.pace, [line.stage for line in lines])
    return pack_text(data, scores_data(lines, on, by, numbers), head_lines(chosen))


def _read_back(data: Data) -> Pack:
    located, problems = parse_yaml(pack_text(data, None, iter(())), "the pack fitted")
    assert located is not None, problems
    pack, faults = validate(located, Pack)
    assert pack is not None, faults
    return pack


def _records_words(spec: FitSpec, records: Records) -> str:
    wanted = {event.id for event in spec.events}
    keys = [(station, year) for station, year, event in records.noted if event in wanted]
    years = [year for _, year in keys]
    counted = f"{len(keys)} notes of {len({s for s, _ in keys})} stations, {min(years)} to {max(years)}"
    return f"{counted}. {spec.source}" if spec.source else counted


def _score(chain: Chain, own: Chosen, shares: Shares) -> list[ScoreLine]:
    """A new site, weather known: every station forecast by numbers fitted without it."""
    lines = []
    for event in own.events:
        errors, came, stations, years, inside = [], [], [], [], []
        for left in own.left:
            part = chain.seasons.of(left.stations)
            found, rows = chain.search(part, 1).errors(left.fit)[event.id]
            errors.append(found)
            came.append(part.days[event.id][rows])
            stations += [part.stations[row] for row in rows]
            years.append(part.years[rows])
            inside.append(_inside(_paces(chain, left.stations, left)[event.id], shares.spreads[event.stage]))
        means = _own_means(stations, np.concatenate(years), np.concatenate(came))
        lines.append(
            ScoreLine(
                line="new_site",
                stage=event.stage,
                rows=len(stations),
                rmse_days=_rms(np.concatenate(errors)),
                inside_80=round(float(np.concatenate(inside).mean()), 2),
                own_3_days=means[3],
                own_10_days=means[10],
            )
        )
    return lines


def _inside(paces: LogPaces, spread: float) -> Floats:
    return (np.abs(paces.values) - paces.per_day / 2 <= NORMAL_80 * spread).astype(np.float64)


def _own_means(stations: Sequence[str], years: Ints, came: Floats) -> dict[int, float | None]:
    """RMSE of the station's own mean over its last 3 and 10 seasons, where there were so many before."""
    names = np.array(stations)
    errors: dict[int, list[float]] = {count: [] for count in OWN_SEASONS}
    for name in sorted(set(stations)):
        order = np.flatnonzero(names == name)
        days = came[order[np.argsort(years[order], kind="stable")]]
        for count, found in errors.items():
            found += [float(days[i - count : i].mean() - days[i]) for i in range(count, len(days))]
    return {count: _rms(np.array(found)) if found else None for count, found in errors.items()}


def _rms(errors: Floats) -> float:
    return round(float(np.sqrt(np.mean(errors**2))), 2)
