"""How well the dates of every taxon forecast, and the values to check them by: rules/SCORES.md.

python -m care_planner.tools.write_scores
"""

from collections.abc import Iterator
from pathlib import Path

from care_planner.problems import ProblemsFound
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.rulebook.read_packs import read_rulebook, shipped_folder
from care_planner.rulebook.scores import Scores, mark_of
from care_planner.rulebook.taxon import CheckValue

SCORES_FILE = "SCORES.md"
_HEAD = """\
# How well the dates forecast

Generated from the packs by `python -m care_planner.tools.write_scores`; a test fails when it is stale,
another when a pack's numbers are no longer those that were scored. RMSE is of the middle date, in days. "In
80 %" is the share of what came inside the span that a plan tells as 80 %. Beside it stands the RMSE of the
site's own mean day over its last 3 and its last 10 seasons, on the same rows (on those of them that have so
many seasons before).

- `new_site`: the taxon's numbers alone, the season's weather known.
- `own_seasons.N`: the last N seasons noted at the site, the season's weather known.
- `earlier_stage`: this season's earlier stage noted, the season's weather known.
- `made_1_...`: made on that day, with the site's own earlier years as weather and its last 3 seasons noted.
"""
_COLUMNS = ("line", "stage", "rows", "RMSE", "in 80 %", "own mean of 3", "own mean of 10")


def scores_text(rulebook: Rulebook) -> str:
    """The tables as Markdown, a part for each taxon; the same text for the same packs."""
    return "\n".join([_HEAD, *("\n".join(_taxon(rules)) for _, rules in sorted(rulebook.taxa.items()))])


def stale_scores(rulebook: Rulebook) -> list[str]:
    """Taxa whose stages or paces are no longer those that were scored."""
    return [
        id
        for id, rules in sorted(rulebook.taxa.items())
        if rules.scores is not None and rules.scores.numbers != _mark(rules, rules.scores)
    ]


def write_scores(folder: Path) -> None:
    """Write `folder/SCORES.md`. Raises ProblemsFound for mistakes in a pack, OSError if the disk refuses."""
    rulebook, problems = read_rulebook()
    if problems:
        raise ProblemsFound(problems)
    (folder / SCORES_FILE).write_text(scores_text(rulebook), encoding="utf-8")


def _mark(rules: TaxonRules, scores: Scores) -> str:
    return mark_of(rules.stages.values(), rules.taxon.pace, [line.stage for line in scores.lines])


def _taxon(rules: TaxonRules) -> Iterator[str]:
    yield f"## {rules.id}: {rules.title}"
    yield ""
    scores = rules.scores
    if scores is None:
        yield "Nothing is scored: no open record of it was at hand. Its dates are starting values."
    else:
        yield f"On {scores.on}, by {scores.by}."
        yield ""
        yield _row(_COLUMNS)
        yield _row("---" for _ in _COLUMNS)
        for line in scores.lines:
            own = (line.own_3_days, line.own_10_days)
            means = ("-" if days is None else f"{days:.2f}" for days in own)
            cells = (f"`{line.line}`", line.stage, str(line.rows), f"{line.rmse_days:.2f}")
            yield _row((*cells, f"{line.inside_80:.2f}", *means))
    if rules.taxon.check_values:
        yield ""
        yield "To check by:"
        yield ""
        yield from (f"- {_check_words(value)}" for value in rules.taxon.check_values)
    yield ""


def _check_words(value: CheckValue) -> str:
    what = value.stage or value.work
    when = f"{value.first} to {value.last}" if value.comes else "not in most years"
    return f"{what}, {value.place}: {when} ({value.source})"


def _row(cells: Iterator[str] | tuple[str, ...]) -> str:
    return "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    write_scores(shipped_folder())
