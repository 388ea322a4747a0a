"""A question to several kinds of tree goes by the name that their work is told under together."""

import pytest
from small_world import shipped

from care_planner.tasks.questions import _title


@pytest.mark.parametrize(
    ("taxa", "title"),
    [
        (["japanese-maple"], "Winter place, cold shed"),
        (["japanese-maple", "satsuki-azalea"], "Move into shelter"),
    ],
)
def test_the_name_for_one_kind_and_for_several(taxa: list[str], title: str) -> None:
    told = shipped().taxa[taxa[0]].rules["shelter"]
    assert _title(taxa, told, shipped()) == title
