"""What re-plans moved, for a page: the lines of the command line, for the trees a link shows."""

from collections.abc import Collection as Some
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.serve.planner import Changed
from care_planner.show.changes import change_lines
from care_planner.years.previous import PreviousPlan


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """One kind of change (moved, gone, new, missed) and a line for each."""

    title: str
    lines: tuple[str, ...]


def change_groups(
    changes: Iterable[Changed], after: int, trees: Some[str], rulebook: Rulebook
) -> list[ChangeGroup]:
    """What the plans numbered above `after` changed on `trees`, in order, each said once."""
    groups: dict[str, dict[str, None]] = {}
    for changed in changes:
        if changed.number > after:
            previous, plan = _only(changed.previous, changed.plan, trees)
            for title, line in _unwrapped(change_lines(previous, plan, rulebook)):
                groups.setdefault(title, {})[line] = None
    return [ChangeGroup(title, tuple(lines)) for title, lines in groups.items()]


def _only(previous: PreviousPlan, plan: Plan, trees: Some[str]) -> tuple[PreviousPlan, Plan]:
    """Both plans, as if there were no other trees."""
    return (
        replace(previous, trees={tree: told for tree, told in previous.trees.items() if tree in trees}),
        replace(
            plan,
            tasks=[task for task in plan.tasks if task.tree in trees],
            done=[task for task in plan.done if task.tree in trees],
            fates={tree: fates for tree, fates in plan.fates.items() if tree in trees},
        ),
    )


def _unwrapped(lines: Iterable[str]) -> Iterator[tuple[str, str]]:
    """(title, line) of what was laid out for a terminal: titles at the margin, lines at 2, the rest at 4."""
    title, line = "", ""
    for text in lines:
        if text.startswith("    "):
            line = f"{line} {text.strip()}"
            continue
        if line:
            yield title, line
        line = ""
        if text.startswith("  "):
            line = text.strip()
        elif text:
            title = text
    if line:
        yield title, line
