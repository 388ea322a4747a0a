"""The flowers of a season as a rising and falling shape."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from care_planner.rulebook.pack import TaxonRules
from care_planner.show.pictures.drawn import DrawnBloom, DrawnStage, Point
from care_planner.show.pictures.scale import Scale

STEPS = 6


def bloom_shape(stages: Mapping[str, DrawnStage], rules: TaxonRules, scale: Scale) -> DrawnBloom | None:
    """The shape from a season's stages by id; None where it does not flower."""
    curve = rules.taxon.bloom_curve
    flowering = [stages[id] for id, stage in rules.stages.items() if stage.flowering and id in stages]
    if curve is None or curve.since not in stages or not flowering:
        return None
    first, last = stages[curve.since], max(flowering, key=lambda stage: stage.middle)
    opens = [(first, 0.0)]
    for stage in flowering:
        share = rules.stages[stage.id].reached.share_open
        if share is not None and stage.middle > opens[-1][0].middle:
            opens.append((stage, share))
    peak = opens[-1][0] if len(opens) > 1 else None
    if last.middle <= first.middle:
        return None
    top = (peak.middle, peak.early, peak.late) if peak is not None else _between(first, last)
    rising = [(stage.middle, share) for stage, share in opens[:-1]]
    likely = [*rising, (top[0], 1.0), (max(last.middle, top[0]) + 1, 0.0)]
    early, late = max(top[1], first.early + 1), max(top[2], top[1] + 1, first.early + 2)
    wide = [(first.early, 0.0), (early, 1.0), (late, 1.0), (max(last.late, late) + 1, 0.0)]
    return DrawnBloom(_smooth(likely, scale), _smooth(wide, scale), first.seen)


def _between(first: DrawnStage, last: DrawnStage) -> tuple[int, int, int]:
    """A peak a third of the way where the pack names no share open."""
    middle = first.middle + (last.middle - first.middle) // 3
    return middle, middle - (first.middle - first.early), middle + (first.late - first.middle)


def _smooth(knots: Sequence[tuple[float, float]], scale: Scale) -> tuple[Point, ...]:
    """A smooth line through days and shares that never overshoots them (monotone cubic, Fritsch and
    Carlson 1980, with harmonic means for the slopes)."""
    slopes = [(y1 - y0) / (x1 - x0) for (x0, y0), (x1, y1) in pairwise(knots)]
    inner = [0.0 if a * b <= 0 else 2 * a * b / (a + b) for a, b in pairwise(slopes)]
    tangents = [0.0, *inner, 0.0]
    points = [(scale.x(knots[0][0]), knots[0][1])]
    for number, ((left, low), (right, high)) in enumerate(pairwise(knots)):
        wide = right - left
        for step in range(1, STEPS + 1):
            s = step / STEPS
            y = low * (1 + 2 * s) * (1 - s) ** 2 + high * s * s * (3 - 2 * s)
            y += wide * s * (1 - s) * (tangents[number] * (1 - s) - tangents[number + 1] * s)
            points.append((scale.x(left + wide * s), round(y, 3)))
    return tuple(points)
