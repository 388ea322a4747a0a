"""A show that trees are to be at in bloom."""

from typing import Annotated

from pydantic import Field

from care_planner.typed_yaml.models import Day, Slug, Strict


class ShowDate(Strict):
    """The day, and the trees."""

    date: Day
    trees: Annotated[tuple[Slug, ...], Field(min_length=1)]
