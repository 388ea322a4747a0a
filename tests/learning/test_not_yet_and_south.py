"""What a "not yet" says to half a day, and that the south learns as the north does."""

from dataclasses import replace

import pytest
from even_weather import SEASON, SINCE, flower, read
from noted_seasons import FIRST
from small_world import FLOWERING, LATITUDE, collection, day, notes, pack_text, rulebook, smooth_record

from care_planner.learning.pace_belief import PaceBelief
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.years.basis import Basis
from care_planner.years.profiles import noted_trees

RULES = rulebook(pack_text(FLOWERING))
TREE = {"taxon": "flowering-tree"}


def test_a_not_yet_lies_half_way_to_the_next_day() -> None:
    """Not yet on the 40th day: the bound lies between what the 40th and the 41st would say."""
    (bound,) = read({"not_yet": {(FIRST, SEASON): SINCE + 39}})
    (here,), (next_day,) = read(flower(40)), read(flower(41))
    assert bound.is_bound and here.log_pace < bound.log_pace < next_day.log_pace
    half_way = (here.log_pace + next_day.log_pace) / 2
    assert bound.log_pace == pytest.approx(half_way, abs=0.2 * bound.per_day)


def learnt(later: int, latitude: float) -> PaceBelief:
    """What a flower seen on a day teaches, with all days `later`."""
    record = replace(smooth_record(), first_day=smooth_record().first_day + later)
    today = day("2012-01-10") + later
    seen = {"date": _text(day("2011-04-20") + later), "saw": FIRST}
    trees = collection(TREE, site={"latitude": latitude})
    basis = Basis(trees, record, RULES, today)
    noted = noted_trees(trees, notes(seen), basis.shared)
    tree, facts, _ = noted[0]
    return basis.learn(noted).of(tree, facts)


def _text(at: int) -> str:
    from datetime import date

    return date.fromordinal(at).isoformat()


def test_the_south_learns_what_the_north_does() -> None:
    """The same weather and the same note half a year later at the mirrored latitude: the same pace."""
    north, south = learnt(0, LATITUDE), learnt(HALF_YEAR_DAYS, -LATITUDE)
    pace = RULES.taxa["flowering-tree"].taxon.pace
    mean, spread = north.of(FIRST, 2012, pace)
    assert abs(mean) > 0.02
    assert south.of(FIRST, 2012, pace) == pytest.approx((mean, spread), abs=1e-6)
