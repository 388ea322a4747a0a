"""A copy with another tree's name is what the standard library's `replace` makes."""

from dataclasses import fields, replace

import pytest

from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.years.named import named
from care_planner.years.standing import Stand


@pytest.mark.parametrize("kind", [Task, StageRow, Stand])
def test_reference_as_the_standard_library_makes_it(kind: type) -> None:
    one = kind(**{field.name: (field.name, "held") for field in fields(kind)})
    twin = named(one, "pine-01")
    assert twin == replace(one, tree="pine-01") and twin.tree == "pine-01" and one.tree != "pine-01"
