"""Last and first cold nights on each bench, as a table of 80 columns."""

from collections.abc import Iterator
from itertools import groupby

from care_planner.climate.frost import FROST_CHANCES, FrostRow, frost_table, night_date
from care_planner.folder.read_folder import Inputs
from care_planner.show.plan import wrapped
from care_planner.spans import is_south
from care_planner.words.days import MONTHS


def frost_lines(inputs: Inputs) -> Iterator[str]:
    """A block a bench; for each limit the date with 10, 50 and 90 % and the years behind it."""
    south = is_south(inputs.collection.site.latitude)
    benches = dict(sorted(inputs.collection.benches.items()))
    rows = frost_table(inputs.record, south, benches)
    yield from wrapped(f"{inputs.collection.site.name}: cold nights of {inputs.record.source}")
    yield from wrapped(
        "Last nights: the chance that one comes on that date or later. First nights: on that date or "
        "earlier. A dash: too few winters have such a night."
    )
    for bench, own in groupby(rows, key=lambda row: row.bench):
        yield ""
        yield f"{bench:<26}" + "".join(f"{chance:>10.0%}" for chance in FROST_CHANCES) + "   winters"
        for row in own:
            yield _line(row, south)


def _line(row: FrostRow, south: bool) -> str:
    head = f"  {row.which} night <= {row.at_most_c:g} degC"
    dates = "".join(f"{_date(offset, south):>10}" for offset in row.offsets)
    dates = dates or "".join(f"{'unknown':>10}" for _ in FROST_CHANCES)
    span = f"{row.seasons[0]}-{row.seasons[-1]}" if row.seasons else "none"
    return f"{head:<26}{dates}   {row.seasons_with} of {len(row.seasons)}, {span}"


def _date(offset: float, south: bool) -> str:
    day = night_date(offset, south)
    return "-" if day is None else f"{day.day} {MONTHS[day.month - 1]}"
