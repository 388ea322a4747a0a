"""What re-plans moved, for a page: what the command line says, for the trees a link shows."""

from collections.abc import Collection as Some
from collections.abc import Iterable

from care_planner.rulebook.pack import Rulebook
from care_planner.serve.changed import Changed, only_of
from care_planner.show.changes import ChangeGroup, change_groups


def groups_of_changes(
    changes: Iterable[Changed], after: int, trees: Some[str], rulebook: Rulebook
) -> list[ChangeGroup]:
    """What the plans numbered above `after` changed on `trees`, in order, each said once."""
    groups: dict[str, dict[str, None]] = {}
    for changed in changes:
        if changed.number > after:
            previous, plan = only_of(changed.previous, changed.plan, trees)
            for group in change_groups(previous, plan, rulebook):
                groups.setdefault(group.title, {}).update(dict.fromkeys(group.lines))
    return [ChangeGroup(title, tuple(lines)) for title, lines in groups.items()]
