"""What was fitted, as the text of a pack that makes its taxon plannable."""

import re
from collections.abc import Iterator, Sequence

import yaml

from care_planner.learning.fitting.choose_form import PARTS, Chosen
from care_planner.learning.fitting.need_forms import CHILL_LOW_C, GATE_BY, NeedForm
from care_planner.learning.fitting.paces import Shares
from care_planner.learning.fitting.records import ORIGIN
from care_planner.learning.fitting.spec import FitEvent, FitSpec, Season
from care_planner.rulebook.scores import ScoreLine

MADE_BY = "# Made by care-planner fit; fitting again replaces the whole file."
Data = dict[str, object]

# Common to all taxa, where the records say nothing of them: those of the korean-azalea pack, rounded.
_START = "starting value, no source"
_WARM: Data = {"method": "sigmoid", "midpoint_c": "12.0", "slope_per_c": "0.16"}
_COMMON: tuple[tuple[str, str, str, Data], ...] = (
    (
        "dormancy-broken",
        "Winter rest satisfied",
        "00",
        {
            "earliest": [
                {
                    "chill": {"by": {"method": "hours", "low_c": "-20.0", "high_c": "5.0"}, "sum": "850"},
                    "since": {"month_day": "10-01", "season": "previous"},
                },
                {"day_length": {"at_least_h": "11.0"}},
            ]
        },
    ),
    (
        "bud-swell",
        "Buds swell",
        "01",
        {"warmth": {"by": _WARM, "sum": "8.0"}, "since": {"month_day": "01-24"}},
    ),
    (
        "flush",
        "Main flush of shoots",
        "31",
        {"warmth": {"by": _WARM, "sum": "26.0"}, "since": {"month_day": "01-24"}},
    ),
    (
        "end-of-growth",
        "Growth ends",
        "91",
        {
            "earliest": [
                {
                    "held": {"at_most_c": "15.0", "days": "5"},
                    "since": {"day_length": {"at_most_h": "12.0"}},
                },
                {"day_length": {"at_most_h": "11.0"}},
            ]
        },
    ),
    (
        "rest",
        "Winter rest",
        "97",
        {
            "earliest": [
                {"held": {"at_most_c": "10.0", "days": "5"}, "since": {"stage": "end-of-growth"}},
                {"stage": "end-of-growth", "plus_days": "50"},
            ]
        },
    ),
)


def moment_of(form: NeedForm, needed: float, season: Season) -> Data:
    """The moment a pack says for a form and the sum an event needs, scalars as text."""
    start = _month_day(form.warm_from, season)
    if form.family == "cold":
        by: Data = {"method": "cold", "base_c": f"{form.base_c:.2f}"}
        since: Data = start if form.hours is None else {"day_length": {"at_most_h": f"{form.hours:.2f}"}}
        return {"warmth": {"by": by, "sum": f"{needed:.1f}"}, "since": since}
    by = {"method": "sigmoid", "midpoint_c": f"{form.midpoint_c:.3f}"}
    by["slope_per_c"] = f"{form.slope_per_c:.4f}"
    warmth: Data = {"by": by, "sum": f"{needed:.3f}"}
    chill: Data = {"method": "hours", "low_c": f"{CHILL_LOW_C:.1f}", "high_c": f"{form.chill_high_c:.1f}"}
    if form.family == "forcing-with-chill":
        warmth["less_chill"] = {
            "chill": chill,
            "enough": f"{form.enough:.0f}",
            "at_most_times": f"{form.times:.3f}",
            "since": form.chill_from,
        }
    elif form.family == "chill-then-forcing":
        gate: Data = {
            "chill": {"by": chill, "sum": f"{form.enough:.0f}"},
            "since": _month_day(form.chill_from, season),
        }
        start = {"latest": [start, {"earliest": [gate, {"month_day": GATE_BY}]}]}
    return {"warmth": warmth, "since": start}


def _month_day(day: str, season: Season) -> Data:
    month, at = (int(part) for part in day.split("-"))
    if season != "autumn" and (month, at) >= ORIGIN[season]:
        return {"month_day": day, "season": "previous"}
    return {"month_day": day}


def stage_of(event: FitEvent, reached: Data) -> Data:
    """The stage of an event."""
    stage: Data = {"id": event.stage, "title": event.title, "bbch": event.bbch}
    if event.is_flowering:
        stage["flowering"] = "true"
    if event.season == "winter":
        stage["over_winter"] = "true"
    if event.id != event.stage.replace("-", "_"):
        stage["event"] = event.id
    return stage | {"reached": reached}


def pace_data(shares: Sequence[Shares], source: str) -> Data:
    """The pace: the first chain's make-up is the taxon's, each other chain is a part of its own."""
    first = shares[0]
    pace: Data = {"spread": f"{next(iter(first.spreads.values())):.3f}", "in_step": "0.9"}
    pace |= _make_up(first)
    pace["stages"] = {
        stage: {"spread": f"{spread:.3f}", "in_step": f"{own.in_step[stage]:.2f}"}
        for own in shares
        for stage, spread in own.spreads.items()
    }
    if len(shares) > 1:
        pace["parts"] = {
            f"part-{k}": {"stages": list(own.spreads)} | _make_up(own) for k, own in enumerate(shares[1:], 2)
        }
    return pace | {"source": source}


def _make_up(shares: Shares) -> Data:
    """Cut, not rounded, so that the parts never add up to more than 1."""
    cut = {key: f"{int(getattr(shares, key) * 1000) / 1000:.3f}" for key in ("keeps", "fades", "alone")}
    return {**cut, "fades_years": f"{shares.fades_years:.2f}"}


def pack_data(
    spec: FitSpec, chosen: Sequence[Chosen], shares: Sequence[Shares], source: str, on: str, by: str
) -> Data:
    """The pack without its scores."""
    stages = {
        event.stage: stage_of(event, moment_of(own.fit.form, own.fit.sums[event.id], event.season))
        for own in chosen
        for event in own.events
    }
    common = [
        {"id": id, "title": title, "bbch": bbch, "note": _START, "reached": reached}
        for id, title, bbch, reached in _COMMON
        if id not in stages
    ]
    flowers = any(event.is_flowering for event in spec.events)
    return {
        "pack": spec.taxon,
        "title": spec.title or spec.botanical,
        "about": f"{spec.botanical}. Its dates are fitted on open records; no work of its own is known here.",
        "stands_on": ["container-tree"],
        "sources": {"records": on, "fit": by},
        "taxon": {
            "botanical": spec.botanical,
            "kind": spec.kind,
            "flowers": "true" if flowers else "false",
            "pace": pace_data(shares, source),
            "frost_limit_c": {
                "hardened": "-5.0",
                "young": "0.0",
                "roots_worked": "0.0",
                "source": "starting value, no source: careful for roots in pots; give the taxon's own",
            },
            "repot_every_years": {"young": "2", "established": "3", "source": _START},
        },
        "stages": [*stages.values(), *common],
        "rules": [],
    }


def head_lines(chosen: Sequence[Chosen]) -> Iterator[str]:
    """Comment lines that say how the numbers were found."""
    yield MADE_BY
    yield "#"
    yield f"# Each form of the need was fitted on {PARTS - 1} parts in {PARTS} of the stations:"
    for own in chosen:
        said = ", ".join(f"{family} {loss:.2f}" for family, loss in own.losses.items())
        names = ", ".join(event.id for event in own.events)
        yield f"# {names}: {said}"
        yield f"#   (mean squared days on the stations left out, linear beyond {own.width:.1f} days)"
    yield "# What the records do not say (stages marked so, frost limit, repotting) is a starting value."


def pack_text(data: Data, scores: Data | None, head: Iterator[str]) -> str:
    """The text of the file; the same for the same data."""
    whole = data if scores is None else data | {"scores": scores}
    body = yaml.dump(
        whole, Dumper=_Dumper, sort_keys=False, default_flow_style=False, allow_unicode=True, width=110
    )
    return "\n".join([*head, "", body])


def scores_data(lines: Sequence[ScoreLine], on: str, by: str, numbers: str) -> Data:
    """The scores as data, scalars as text."""
    rows = [{key: str(value) for key, value in line.model_dump(exclude_none=True).items()} for line in lines]
    return {"on": on, "by": by, "numbers": numbers, "lines": rows}


class _Dumper(yaml.BaseDumper):
    """Scalars are text and stand plain; codes and month-days are quoted, as packs quote them."""

    def ignore_aliases(self, data: object) -> bool:
        return True


def _scalar(dumper: yaml.BaseDumper, text: str) -> yaml.ScalarNode:
    style = '"' if re.fullmatch(r"\d\d(-\d\d)?", text) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


def _mapping(dumper: yaml.BaseDumper, data: Data) -> yaml.MappingNode:
    return dumper.represent_mapping("tag:yaml.org,2002:map", data.items())


def _sequence(dumper: yaml.BaseDumper, data: list[object]) -> yaml.SequenceNode:
    return dumper.represent_sequence("tag:yaml.org,2002:seq", data)


_Dumper.add_representer(str, _scalar)
_Dumper.add_representer(dict, _mapping)
_Dumper.add_representer(list, _sequence)
