"""How well dates forecast, in lines for a terminal."""

from collections.abc import Iterable, Iterator

from care_planner.rulebook.scores import ScoreLine


def score_lines(lines: Iterable[ScoreLine]) -> Iterator[str]:
    """A table of 80 columns: RMSE in days, share inside the 80 % span, the site's own mean beside it."""
    yield f"{'line':24}{'stage':20}{'n':>6}{'RMSE':>7}{'in 80 %':>9}{'own 3':>7}{'own 10':>7}"
    for line in lines:
        means = (line.own_3_days, line.own_10_days)
        own = "".join(f"{'-' if days is None else format(days, '.2f'):>7}" for days in means)
        yield f"{line.line:24}{line.stage:20}{line.rows:6}{line.rmse_days:7.2f}{line.inside_80:9.2f}{own}"
