"""`frost` and the entry of a move into shelter are one law: the same nights, to the day."""

import pytest
from places import day_at, record, site
from test_advice import HARDY, rulebook

from care_planner.collection.model import Collection
from care_planner.folder.read_folder import Inputs
from care_planner.plan import make_plan
from care_planner.show.frost import frost_lines
from care_planner.tasks.links import ColdNights
from care_planner.words.days import short_day


@pytest.mark.parametrize("place", ["brussels", "utsunomiya", "gangneung", "southern"])
@pytest.mark.parametrize("warming", ["yes", "no"])
def test_the_entry_and_the_table_name_the_same_nights(place: str, warming: str) -> None:
    tree = {"id": "one", "taxon": "satsuki-azalea", "bench": "open", "frost_limit_c": "-2", **HARDY}
    collection = Collection.model_validate(
        {"site": {**site(place), "take_out_warming": warming}, "benches": {"open": {}}, "trees": [tree]}
    )
    today = day_at(place, "2027-02-01").toordinal()
    plan = make_plan(collection, [], record(place), rulebook(), today)
    entry = next(task for task in plan.tasks if (task.rule, task.season) == ("shelter", 2027))
    nights = next(reason for reason in entry.reasons if isinstance(reason, ColdNights))
    table = list(frost_lines(Inputs(collection, [], record(place), rulebook(), []), today))
    line = next(line for line in table if line.startswith("  first night <= -2 degC"))
    assert nights.in_ten is not None and nights.in_two is not None
    dates = [line[26 + 8 * n : 34 + 8 * n].strip() for n in range(4)]
    assert dates[1:3] == [short_day(nights.in_ten), short_day(nights.in_two)]
    assert all(len(one) <= 80 for one in table)
