"""Work that is right only if another work was done before, or was not, of which no note tells."""

from collections import defaultdict
from collections.abc import Sequence

from care_planner.tasks.links import OnlyIf
from care_planner.tasks.model import Task
from care_planner.words.titles import lower


def what_words(task: Task) -> str:
    """What to do on one tree, its condition first."""
    what = task.what
    for link in _conditions(task):
        what = f"Only if {lower(link.title)} was {_done(link)}: {lower(what)}"
    return what


def conditions(tasks: Sequence[Task]) -> list[str]:
    """A sentence for each state of other works; trees are named where not all are meant."""
    trees: defaultdict[tuple[bool, str], list[str]] = defaultdict(list)
    for task in tasks:
        for link in _conditions(task):
            trees[link.done, link.title].append(task.tree)
    every = len({task.tree for task in tasks})
    found = []
    for done in (True, False):
        works = [
            lower(title) if len(set(held)) == every else f"{lower(title)} ({', '.join(held)})"
            for (is_done, title), held in trees.items()
            if is_done is done
        ]
        if works:
            found.append(f"Only where this was {'done' if done else 'not done'}: {'; '.join(works)}.")
    return found


def _conditions(task: Task) -> list[OnlyIf]:
    return [link for link in task.reasons if isinstance(link, OnlyIf)]


def _done(link: OnlyIf) -> str:
    return "done" if link.done else "not done"
