"""A whole day or weekend noted in one step: the works that the plan had on it were done."""

from collections import defaultdict
from datetime import date, timedelta
from pathlib import Path

from care_planner.folder.read_previous import read_previous
from care_planner.note.ground import read_ground
from care_planner.note.take import take
from care_planner.note.trees import chosen_trees
from care_planner.problems import ProblemsFound
from care_planner.spans import monday_of

DAY_WORDS = ("done as planned", "as planned")
WEEKEND_WORDS = ("weekend done as planned", "weekend as planned")
SATURDAY = 5
CALENDAR_FOLDER = "calendar"


def is_as_planned(what: str) -> bool:
    """Whether words note a whole day or weekend."""
    return " ".join(what.lower().split()) in (*DAY_WORDS, *WEEKEND_WORDS)


def note_as_planned(
    folder: Path, who: tuple[str, ...], what: str, on: date, today: date, sure: bool
) -> list[str]:
    """Note as done what the published plan has on the day `on`, or on its weekend, for the trees `who`.

    Only works, not what belongs to the walk. Returns what a person should be told; what cannot be noted is
    named there. Raises ProblemsFound where `who` is wrong; then nothing is noted.
    """
    read = read_ground(folder)
    trees, problems = chosen_trees(who, read.collection, read.rulebook, read.notes, on)
    if problems:
        raise ProblemsFound(problems)
    previous, told = read_previous(folder / CALENDAR_FOLDER)
    found: defaultdict[tuple[date, str], list[str]] = defaultdict(list)
    for day in _days(what, on, today):
        for tree in trees:
            for task in previous.of(tree.id).tasks.values():
                rule = read.rulebook.taxa[tree.taxon].rules.get(task.rule)
                work = task.kind == "work" and rule is not None and rule.way == "work"
                if work and task.day == day.toordinal():
                    found[day, task.rule].append(tree.id)
    for (day, rule_id), ids in sorted(found.items()):
        try:
            told += take(folder, tuple(sorted(ids)), f"did {rule_id}", day, today, sure).told
        except ProblemsFound as wrong:
            told += [f"not noted, {rule_id}: {problem}" for problem in wrong.problems]
    return told or [f"the plan has no work on {on}"]


def _days(what: str, on: date, today: date) -> list[date]:
    """The day, or Saturday and Sunday of its week; none after today."""
    if " ".join(what.lower().split()) in DAY_WORDS:
        return [on]
    saturday = date.fromordinal(monday_of(on.toordinal()) + SATURDAY)
    return [day for day in (saturday, saturday + timedelta(days=1)) if day <= today]
