"""Pages of the days to come: the next nights, water, a show. For the trees of a link alone."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Literal, get_args

from care_planner.calendar.text import one_line
from care_planner.folder.water_now import WaterNow, water_now
from care_planner.serve.planner import ServedView
from care_planner.serve.scope import Scope
from care_planner.show.at_show import show_blocks
from care_planner.show.learned_bias import bias_blocks
from care_planner.show.passages import Passage
from care_planner.show.tonight import of_trees, tonight_blocks
from care_planner.show.water import ON_A_PAGE, water_blocks

Part = Literal["nights", "water", "show"]
PARTS: tuple[Part, ...] = get_args(Part)
TITLES = {"nights": "Nights and rain", "water": "Water", "show": "The show"}
NO_FORECAST = (
    "No forecast is chosen, so nothing can be said of tonight. Ask the owner of the folder to choose one."
)
_STATES_KEPT = 2


@dataclass(frozen=True, slots=True)
class Ahead:
    """Links from the first page: (part, words), and what the next nights call for."""

    parts: tuple[tuple[Part, str], ...]
    alarms: tuple[str, ...]


def ahead_blocks(
    view: ServedView, part: Part, scope: Scope, trees: frozenset[str], now: datetime
) -> Sequence[Passage] | None:
    """What a page shows; None where the collection tells of no such thing."""
    assert view.inputs is not None
    collection = view.inputs.collection
    if part == "nights":
        if view.tonight is None:
            return [Passage(NO_FORECAST)]
        nights = tonight_blocks(of_trees(view.tonight, trees), collection.site.name, now)
        return _clean([*nights, *bias_blocks(view.tonight.outlook)])
    if part == "water":
        water = water_of(view)
        own = [need for need in water.needs if need.tree in trees]
        whole = scope.kind == "all"
        shown = (
            replace(water, needs=own) if whole else replace(water, needs=own, barrel=None, why_no_barrel="")
        )
        return _clean(water_blocks(shown, collection, with_blend=whole, tell=ON_A_PAGE))
    own_blooms = [bloom for bloom in view.blooms if bloom.tree in trees]
    return _clean(show_blocks(own_blooms, collection, view.inputs.rulebook)) if own_blooms else None


def ahead_of(view: ServedView, trees: frozenset[str], now: datetime) -> Ahead:
    """What the first page says of the days to come."""
    parts = [part for part in PARTS if part != "show" or any(bloom.tree in trees for bloom in view.blooms)]
    alarms: list[str] = []
    if view.tonight is not None and view.inputs is not None:
        site = view.inputs.collection.site.name
        found = tonight_blocks(of_trees(view.tonight, trees), site, now)
        alarms = [one_line(block.title) for block in found if block.urgent]
    return Ahead(tuple((part, TITLES[part]) for part in parts), tuple(alarms))


@lru_cache(maxsize=_STATES_KEPT)
def water_of(view: ServedView) -> WaterNow:
    """The water of the day, found once for each state that has a plan."""
    assert view.inputs is not None and view.plan is not None
    return water_now(view.inputs, view.plan)


def _clean(blocks: Iterable[Passage]) -> list[Passage]:
    return [
        replace(block, title=one_line(block.title), lines=tuple(_clean_line(line) for line in block.lines))
        for block in blocks
    ]


def _clean_line(line: str) -> str:
    indent = "  " if line.startswith("  ") else ""
    return indent + one_line(line.strip())
