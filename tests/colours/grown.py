"""Small trees made by hand for the checks of colours, and trees grown by chance with known rates."""

import random
from collections.abc import Mapping, Sequence

from care_planner.colours.lineage import Batch, Bloom, KnownBranch, Lineage

OWN, DARKER = 1.0, 0.5  # weights of a season's shares, the darker ones together


def tree(
    name: str, *branches: KnownBranch, batches: Sequence[Batch] = (), variety: tuple[int, ...] = ()
) -> Lineage:
    """A lineage of branches given with parents first."""
    return Lineage(name, {b.id: b for b in branches}, {b.id: b for b in batches}, variety)


def branch(
    id: str, since: int, seen: Mapping[int, tuple[int, ...]] | None = None, on: str = "trunk"
) -> KnownBranch:
    """A branch with flowers by season; the trunk grows from nothing."""
    parent = "" if id == "trunk" else on
    return KnownBranch(
        id, parent, since, blooms={season: Bloom(counts) for season, counts in (seen or {}).items()}
    )


class Chance:
    """Grows trees year by year as the model says, with rates that are known."""

    def __init__(self, seed: int, darken: float, back: float, rungs: int) -> None:
        self.random = random.Random(seed)
        self.darken, self.back, self.rungs = darken, back, rungs

    def year(self, rung: int) -> int:
        """The wood a year of growth later."""
        draw = self.random.random()
        if rung + 1 < self.rungs and draw < self.darken:
            return self.random.randrange(rung + 1, self.rungs)
        if rung and 1 - draw < self.back:
            return self.random.randrange(rung)
        return rung

    def flowers(self, rung: int, most: int = 12) -> tuple[int, ...]:
        """A season's flowers on wood of a rung."""
        darker = self.rungs - 1 - rung
        weights = [OWN, *[DARKER / darker] * darker] if darker else [1.0]
        shares = [self.random.gammavariate(weight, 1.0) for weight in weights]
        forms = self.random.choices(range(rung, self.rungs), shares, k=self.random.randint(1, most))
        return tuple(forms.count(form) for form in range(self.rungs))

    def tree(self, name: str, branches: int, first: int, now: int) -> tuple[Lineage, dict[str, list[int]]]:
        """A tree whose every branch was noted every season, and the wood of each branch by season."""
        wood = {"trunk": [self.random.randrange(self.rungs)]}
        for _ in range(first, now):
            wood["trunk"].append(self.year(wood["trunk"][-1]))
        grown = [branch("trunk", first)]
        for number in range(branches):
            parent = self.random.choice(["trunk", *(b.id for b in grown[1:4])])
            since = first + 1
            at = max(since - 1, first if parent == "trunk" else first + 1)
            start = first if parent == "trunk" else first + 1
            id = f"b{number:02}"
            wood[id] = [self.year(wood[parent][at - start])]
            for _ in range(since, now):
                wood[id].append(self.year(wood[id][-1]))
            seen = {since + i: self.flowers(rung) for i, rung in enumerate(wood[id])}
            grown.append(branch(id, since, seen, on=parent))
        return tree(name, *_parents_first(grown)), wood


def _parents_first(branches: list[KnownBranch]) -> list[KnownBranch]:
    placed: dict[str, KnownBranch] = {}
    while len(placed) < len(branches):
        placed |= {b.id: b for b in branches if not b.grows_from or b.grows_from in placed}
    return list(placed.values())
