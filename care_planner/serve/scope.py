"""What one link shows: everything, works or walks alone, or one tree, bench, taxon or kind of work."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from care_planner.collection.model import Collection
from care_planner.problems import Problem, did_you_mean
from care_planner.rulebook.rule import WORK_KINDS, Way
from care_planner.serve.names import (
    ALL_FEED,
    WALKS_FEED,
    WORKS_FEED,
    bench_feed,
    taxon_feed,
    tree_feed,
    work_feed,
)
from care_planner.tasks.model import Task

ScopeKind = Literal["all", "tree", "bench", "taxon", "work", "works", "walks"]
SCOPE_KINDS: tuple[ScopeKind, ...] = get_args(ScopeKind)
LOOK = "look"
WAYS: Mapping[str, Way] = {"works": "work", "walks": "walk"}
KINDS_OF_WORK = (*WORK_KINDS, LOOK)


@dataclass(frozen=True, slots=True)
class Scope:
    """A part of the plan; `value` names it, and is empty for everything."""

    kind: ScopeKind = "all"
    value: str = ""

    def holds(self, task: Task) -> bool:
        """Whether a task belongs to it."""
        if self.kind == "all":
            return True
        if self.kind in WAYS:
            return task.way == WAYS[self.kind]
        of = {"tree": task.tree, "bench": task.bench, "taxon": task.taxon, "work": task.category}
        return of[self.kind] == self.value

    def trees(self, collection: Collection, tasks: Iterable[Task]) -> frozenset[str]:
        """Ids of the trees it shows: those it names, and those its tasks are about."""
        named = {
            tree.id
            for tree in collection.trees
            if self.kind in ("all", *WAYS)
            or (self.kind == "tree" and tree.id == self.value)
            or (self.kind == "bench" and self.value in (tree.bench, tree.winter_bench))
            or (self.kind == "taxon" and tree.taxon == self.value)
        }
        return frozenset(named | {task.tree for task in tasks if self.holds(task)})

    def feed(self) -> str:
        """The name of its own feed."""
        return {
            "all": lambda _: ALL_FEED,
            "works": lambda _: WORKS_FEED,
            "walks": lambda _: WALKS_FEED,
            "tree": tree_feed,
            "bench": bench_feed,
            "taxon": taxon_feed,
            "work": work_feed,
        }[self.kind](self.value)

    def may_read(self, feed: str) -> bool:
        """Whether a feed belongs to it: everything may read all, the others their own."""
        return self.kind == "all" or feed == self.feed()

    @property
    def opens_trees(self) -> bool:
        """Whether trees are shown in full; a link for a kind of work shows that work alone."""
        return self.kind != "work"

    def words(self) -> str:
        """For people."""
        return {"all": "everything", "works": "works alone", "walks": "bench walks alone"}.get(
            self.kind, f"{self.kind} {self.value}"
        )

    def gives_away(self, may_note: bool) -> str:
        """What whoever has the link sees and may do, for the person who makes it."""
        if self.kind == "work":
            seen = (
                f"works of the kind {self.value}, with the names, benches and days of their trees; no notes"
            )
            noted = "what was seen" if self.value == LOOK else "that work as done or not done"
            noted = f"{noted} on those trees, and words"
        else:
            of = {"tree": "that tree", "bench": "every tree there", "taxon": "every tree of that kind"}
            seen = f"{of.get(self.kind, 'every tree')} with its works, notes, pictures and history"
            noted = "anything on those trees: seen, done, left undone, words"
        return f"shows {seen}" + (f"; may note {noted}" if may_note else "; may note nothing")


def scope_problem(scope: Scope, collection: Collection) -> Problem | None:
    """What is wrong with a scope: it names nothing in the collection."""
    known: dict[str, Iterable[str]] = {
        "tree": [tree.id for tree in collection.trees],
        "bench": collection.benches,
        "taxon": {tree.taxon for tree in collection.trees},
        "work": KINDS_OF_WORK,
    }
    if scope.kind in ("all", *WAYS) or scope.value in known[scope.kind]:
        return None
    what = f"unknown {'kind of work' if scope.kind == 'work' else scope.kind} '{scope.value}'"
    return Problem(f"--{scope.kind}", 0, what, did_you_mean(scope.value, known[scope.kind]))
