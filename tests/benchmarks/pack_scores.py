"""Scores measured by `forecast_skill.py`, put into the file of their pack."""

from collections.abc import Mapping
from pathlib import Path

from care_planner.rulebook.pack import Pack
from care_planner.rulebook.scores import mark_of
from care_planner.typed_yaml.read_yaml import read_yaml, validate

KEPT = (
    *("new_site", "own_seasons.3", "own_seasons.10", "earlier_stage"),
    *("made_1_january", "made_1_march", "made_1_september"),
)
BY = (
    "tests/benchmarks/forecast_skill.py --held-out, each station by numbers fitted without it "
    "(care-planner fit, five parts)"
)
_BLOCK = "\nscores:\n"


def write_scores_into(
    path: Path,
    found: Mapping[str, Mapping[str, Mapping[str, float | int]]],
    stages: Mapping[str, str],
    noted: Mapping[str, list[tuple[str, float]]],
) -> None:
    """Replace the scores at the end of a pack's file; they are the last thing in it."""
    located, problems = read_yaml(path, str(path))
    assert located is not None and not problems, problems
    pack, faults = validate(located, Pack)
    assert pack is not None and pack.taxon is not None, faults
    scored = [
        (line, event, scores)
        for line, events in found.items()
        if line in KEPT
        for event, scores in events.items()
    ]
    mark = mark_of(pack.stages, pack.taxon.pace, [stages[event] for _, event, _ in scored])
    events = {event for _, event, _ in scored}
    names = {station for event in events for station, _ in noted[event]}
    notes = sum(len(noted[event]) for event in events)
    rows = [_row(line, stages[event], scores) for line, event, scores in scored]
    block = [
        "scores:",
        f"  on: {notes} notes of {len(names)} stations",
        f"  by: {BY}",
        f'  numbers: "{mark}"',
        "  lines:",
        *(f"    - {{{row}}}" for row in rows),
    ]
    text = path.read_text(encoding="utf-8")
    kept = text[: text.index(_BLOCK) + 1] if _BLOCK in text else text.rstrip("\n") + "\n\n"
    path.write_text(kept + "\n".join(block) + "\n", encoding="utf-8")


def _row(line: str, stage: str, scores: Mapping[str, float | int]) -> str:
    said = {
        "line": line,
        "stage": stage,
        "rows": scores["n"],
        "rmse_days": scores["rmse"],
        "inside_80": round(scores["inside_80"], 2),
    }
    for count in (3, 10):
        if f"own_mean_{count}" in scores:
            said[f"own_{count}_days"] = scores[f"own_mean_{count}"]
    return ", ".join(f"{key}: {value}" for key, value in said.items())
