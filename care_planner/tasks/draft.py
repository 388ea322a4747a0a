"""A task but for its tree, so that twins share it."""

from dataclasses import dataclass
from typing import Literal

from care_planner.tasks.model import Task, Window
from care_planner.years.resolve import TreeYears


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What a task says whatever its tree is called. `part` follows the tree's id in the task's key."""

    rule: str
    season: int
    occurrence: int
    kind: Literal["work", "look"]
    part: str
    title: str
    day: int
    window: Window
    chance: float
    minutes: int
    why: tuple[str, ...]
    bench: str
    category: str
    cautions: tuple[str, ...] = ()
    firm: bool = True
    what: str = ""
    moved: str = ""
    done: bool = False

    def task(self, tree: str, taxon: str) -> Task:
        """The task of one tree."""
        return Task(
            tree=tree,
            rule=self.rule,
            season=self.season,
            occurrence=self.occurrence,
            kind=self.kind,
            key=f"{tree}/{self.part}",
            title=self.title,
            day=self.day,
            window=self.window,
            chance=self.chance,
            minutes=self.minutes,
            cautions=self.cautions,
            why=self.why,
            firm=self.firm,
            bench=self.bench,
            taxon=taxon,
            category=self.category,
            what=self.what,
            moved=self.moved,
            done=self.done,
        )


Moves = list[tuple[int, str]]


def bench_on(day: int, years: TreeYears, moves: Moves) -> str:
    """The bench a tree stands on; `moves` are (day, bench) in order."""
    before = [bench for at, bench in moves if at <= day]
    return before[-1] if before else years.tree.bench
