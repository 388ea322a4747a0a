"""Everything a plan says of one tree, without the tree's name: what twins share, and what can be kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from care_planner.tasks.drafts import done_drafts, drafts, not_planned, plants_done
from care_planner.tasks.fate import Fate
from care_planner.tasks.model import Task
from care_planner.tasks.notices import Notice
from care_planner.tasks.questions import Unanswered, unanswered
from care_planner.tasks.rooms import Room, rooms
from care_planner.tasks.stage_rows import StageRow, stage_rows
from care_planner.tasks.telling import what_to_tell
from care_planner.years.common import WeatherBehind
from care_planner.years.move import of_move
from care_planner.years.named import named
from care_planner.years.previous import Signature
from care_planner.years.standing import Stand, next_stands
from care_planner.years.state import TreeYears


@dataclass(frozen=True, eq=False)
class TreeResult:
    """Tasks of tasks, of done work, stage rows, why the rest is not planned, and what to tell."""

    drafts: Sequence[Task]
    done: Sequence[Task]
    stages: Sequence[StageRow]
    fates: Mapping[tuple[str, int], Fate]
    notices: Sequence[Notice]
    unanswered: Sequence[Unanswered] = ()
    rooms: Sequence[Room] = ()  # the days on which works may lie, where people told their hours
    stands: Sequence[Stand] = ()  # today and on the next days
    # Of a tray, by rule and season: on how many of how many plants it was done, where not on all.
    part_done: Mapping[tuple[str, int], tuple[int, int]] = field(default_factory=dict)
    _made: dict[str, list[Task]] = field(default_factory=dict, repr=False)

    def tasks_of(self, tree: str) -> list[Task]:
        """The tasks of one of the twins, made once."""
        if tree not in self._made:
            self._made[tree] = [named(draft, tree) for draft in self.drafts]
        return self._made[tree]

    def signature(self) -> Signature:
        """The days it publishes, in the form of `PreviousTree.signature`."""
        return tuple(sorted((draft.part, draft.day, *of_move(draft.move)) for draft in self.drafts))


def tree_result(years: TreeYears, weather: WeatherBehind) -> TreeResult:
    """What a plan says of a resolved tree."""
    return TreeResult(
        drafts(years, weather),
        done_drafts(years),
        stage_rows(years),
        not_planned(years),
        what_to_tell(years),
        unanswered(years),
        rooms(years) if years.shared.told_hours else (),
        next_stands(years),
        _part_done(years),
    )


def _part_done(years: TreeYears) -> Mapping[tuple[str, int], tuple[int, int]]:
    rules = years.rules.rules
    done = {key: plants_done(rules[key[0]], years, key[1]) for key in years.history.in_part}
    return {key: (plants, years.tree.count) for key, plants in done.items() if plants}
