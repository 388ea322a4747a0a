"""Last and first cold nights on each bench, as a table of 80 columns: the nights that the plan goes by."""

from collections.abc import Iterator

import numpy as np

from care_planner.climate.frost import Which, percentile_day
from care_planner.folder.read_folder import Inputs
from care_planner.show.wrapping import wrapped
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.stages.moments import first_night, last_night
from care_planner.stages.reach import Floats
from care_planner.words.days import short_day
from care_planner.years.common import shared_by_all
from care_planner.years.state import Shared

LIMITS_C = (-5.0, -2.0, 0.0, 2.0)  # those that the shipped packs hold nights against
CHANCES = (0.01, 0.1, 0.5, 0.9)
WHICH: tuple[Which, ...] = ("last", "first")


def frost_lines(inputs: Inputs, today: int) -> Iterator[str]:
    """A block a bench; for each limit the date with 1, 10, 50 and 90 % and the years behind it.

    The dates are those of the next spring and the next autumn of which nothing is observed yet.
    """
    site = inputs.collection.site
    shared, years = shared_by_all(inputs.collection, inputs.record, today)
    yield from wrapped(f"{site.name}: cold nights of {inputs.record.source}, as the plan goes by them")
    if years.warming_c:
        moved = f"{years.warming_c * 10:+.2f} degC in ten years"
        yield from wrapped(f"Old winters are moved up along the record's own {moved}.")
    yield from wrapped(
        "Last nights: the chance that one comes on that date or later. First nights: on that date or "
        "earlier. A dash: too few winters have such a night."
    )
    for bench in sorted(shared.benches):
        yield ""
        yield f"{bench:<26}" + "".join(f"{chance:>8.0%}" for chance in CHANCES) + "   winters"
        for which in WHICH:
            for limit in limits_of(inputs):
                yield _line(which, limit, nights(which, limit, bench, shared))


def nights(which: Which, limit_c: float, bench: str, shared: Shared) -> Floats:
    """The day (ordinal) of the first or last night at or under a limit in each weather year, or NEVER."""
    frame = shared.frame
    over = shared.today >= frame.start_of(0) + HALF_YEAR_DAYS
    find, step = (first_night, 1 if over else 0) if which == "first" else (last_night, 1)
    days = find(limit_c, step, frame, shared.benches[bench])
    _, first = np.unique(frame.rows, return_index=True)
    return np.where(np.isneginf(days), np.inf, days)[first]


def limits_of(inputs: Inputs) -> tuple[float, ...]:
    """The limits (degC) that the plan holds nights against: the packs', and those of the trees."""
    limits = set(LIMITS_C)
    for rules in inputs.rulebook.taxa.values():
        told = rules.taxon.frost_limit_c
        limits |= {told.hardened, told.young, told.roots_worked}
    limits |= {tree.frost_limit_c for tree in inputs.collection.trees if tree.frost_limit_c is not None}
    return tuple(sorted(limits))


def _line(which: Which, limit_c: float, days: Floats) -> str:
    head = f"  {which} night <= {limit_c:g} degC"
    known = days[~np.isnan(days)]
    if not known.size:
        return f"{head:<26}" + "".join(f"{'unknown':>8}" for _ in CHANCES)
    found = (percentile_day(known, chance, which=which) for chance in CHANCES)
    dates = "".join(f"{short_day(day) if np.isfinite(day) else '-':>8}" for day in found)
    return f"{head:<26}{dates}   {int(np.isfinite(known).sum())} of {known.size}"
