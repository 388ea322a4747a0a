"""Young plants grown by chance, and how well each way of deciding keeps and gives away."""

from grown import Chance, tree

from care_planner.colours.belief import believe
from care_planner.colours.cuttings import verdict
from care_planner.colours.decisions import RISK, wanted_form
from care_planner.colours.lineage import Batch, Bloom, Lineage

RUNGS, NOW = 7, 2026
PLANTS = 8  # in a batch
FIRST_ONLY, LIKELIER, AT_RISK = "first flower only", "likelier than not", f"at a risk of {RISK:.0%}"


class Tally:
    """Decisions on young plants: right and wrong ones, and those put off."""

    def __init__(self) -> None:
        self.good = self.dark = self.lost = self.kept_dark = self.put_off = 0

    def add(self, keeps_range: bool, what: str) -> None:
        """Count one plant."""
        self.good += keeps_range
        self.dark += not keeps_range
        self.lost += keeps_range and what == "give away"
        self.kept_dark += not keeps_range and what == "keep"
        self.put_off += what == "grow on"

    @property
    def wrong(self) -> float:
        """The share of wrong decisions."""
        return (self.lost + self.kept_dark) / (self.good + self.dark)

    def __str__(self) -> str:
        put_off = self.put_off / (self.good + self.dark)
        return (
            f"wrong {self.wrong:6.1%}; of those that keep the range given away {self.lost / self.good:6.1%}, "
            f"of the others kept {self.kept_dark / self.dark:6.1%}; put off {put_off:6.1%}"
        )


def young_plants(
    seed: int, seasons: int
) -> tuple[list[Lineage], dict[tuple[str, str, int], int], dict[tuple[str, str, int], int]]:
    """Trees with batches seen in some seasons, each plant's true wood now, the form of its first flower."""
    grown = Chance(seed, 0.06, 0.004, RUNGS)
    trees, woods, firsts = [], {}, {}
    taken = NOW - seasons
    for number in range(8):
        lineage, wood = grown.tree(f"t{number}", 8, NOW - 6, NOW)
        batches = []
        for id in grown.random.sample([b for b in lineage.branches if b != "trunk"], 3):
            blooms: dict[int, dict[int, Bloom]] = {}
            for plant in range(1, PLANTS + 1):
                rung = wood[id][taken - (NOW - 5)]
                for season in range(taken + 1, NOW + 1):
                    rung = grown.year(rung)
                    counts = grown.flowers(rung, most=4)
                    blooms.setdefault(plant, {})[season] = Bloom(counts)
                    if season == taken + 1:
                        of = [form for form, count in enumerate(counts) for _ in range(count)]
                        firsts[lineage.tree, id, plant] = grown.random.choice(of)
                woods[lineage.tree, id, plant] = rung
            batches.append(Batch(f"c-{id}", id, taken, PLANTS, blooms=blooms))
        trees.append(tree(lineage.tree, *lineage.branches.values(), batches=batches))
    return trees, woods, firsts


def decisions(seasons: int, collections: int = 40) -> dict[str, Tally]:
    """The same plants judged by each way of deciding."""
    ways = {FIRST_ONLY: Tally(), LIKELIER: Tally(), AT_RISK: Tally()}
    for seed in range(collections):
        trees, woods, firsts = young_plants(seed, seasons)
        for belief in believe(trees, RUNGS, NOW)[0]:
            form = wanted_form(belief)
            assert form is not None
            for batch in belief.lineage.batches.values():
                for plant in batch.blooms:
                    key = (belief.lineage.tree, batch.branch, plant)
                    chance = float(belief.gives((batch.id, plant))[form])
                    by = (
                        "keep" if firsts[key] <= form else "give away",
                        "keep" if chance >= 0.5 else "give away",
                        verdict(chance, RISK),
                    )
                    for tally, what in zip(ways.values(), by, strict=True):
                        tally.add(woods[key] <= form, what)
    return ways
