"""Which pot is likely dry when: the order of a watering walk. A look decides, and what was seen wins."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from care_planner.collection.model import Collection
from care_planner.collection.site import Bench
from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.outlook.water.air import SiteAir
from care_planner.outlook.water.pot import (
    K_RANGE,
    PRUNED_DAYS,
    WEIGHED_RANGE,
    DryAt,
    PotFacts,
    PotWeather,
    dry_at,
    pot_facts,
    pruned_share,
    weighed_k,
)
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.rulebook.rule import Rule

# A watering noted longer ago says nothing of today's pot.
_FORGOTTEN_DAYS = 14
# Pot crops ran to "over 5" (Regan 1996): a pair of weighings that gives more is a slip of the pen.
MOST_K = 8.0
Odd = Literal["lost nothing", "lost too much"]
_AHEAD_DAYS = 12
# Above this ET0 a pot under so many litres is looked at every day, whatever is reckoned: our rule.
_DAILY_ET0_MM, _SMALL_LITRES = 4.0, 3.0
# From this high on, a pot that lasts less than a day is looked at twice: a starting value.
_TWICE_C = 28.0


@dataclass(frozen=True)
class Need:
    """One tree: when it is likely dry, when to look, and what that rests on.

    noted: whether a note says when it was full. look: days from the start of `today`, at the latest.
    weighings: pairs behind its K; unused: first days of pairs that count for nothing, and why.
    """

    tree: str
    bench: str
    pot: PotFacts
    dry: DryAt
    today: int
    look: float
    noted: bool
    twice: bool
    weighings: int
    unused: tuple[tuple[int, Odd], ...] = ()
    pruned_days_ago: int | None = None

    @property
    def likely(self) -> float:
        """Days from the start of today until it is likely dry; negative: it likely is."""
        return self.dry.likely - (self.today - self.dry.start)


@dataclass(frozen=True)
class Works:
    """What works are noted as: those that take off much of the crown, and those that are a daily watering."""

    prunes: frozenset[str]
    watering: frozenset[str]

    @classmethod
    def of(cls, taxon: TaxonRules) -> "Works":
        """Those of a taxon. A check of the pots or a thing to keep in mind is no watering."""
        rules = taxon.rules.values()
        return cls(
            _noted(rule for rule in rules if rule.heavy and rule.kind == "pruning"),
            _noted(rule for rule in rules if rule.kind == "water" and rule.way == "watch"),
        )


def _noted(rules: Iterable[Rule]) -> frozenset[str]:
    return frozenset(word for rule in rules for word in (rule.id, *rule.noted_as))


def needs(
    collection: Collection,
    entries: Iterable[Entry],
    rulebook: Rulebook,
    air: SiteAir,
    benches: Mapping[str, str],
    today: int,
) -> list[Need]:
    """Every tree, the soonest dry first. `benches`: where each stands today."""
    own: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.day <= today:
            own[entry.tree].append(entry)
    found = [
        _need(
            tree,
            collection.benches[benches[tree.id]],
            benches[tree.id],
            own[tree.id],
            Works.of(rulebook.taxa[tree.taxon]),
            air,
            today,
        )
        for tree in collection.trees
        if tree.id in benches
    ]
    return sorted(found, key=lambda need: (need.likely, need.tree))


def pot_of(tree: Tree) -> PotFacts:
    """The pot of a tree, with what is usual where nothing was told."""
    pot = tree.pot
    told = (pot.litres, pot.width_cm, pot.depth_cm) if pot is not None else (None, None, None)
    return pot_facts(*told, tree.crown_cm, pot.soil if pot is not None else None, tree.size)


def _pruned_ago(pruned: Sequence[int], day: int) -> int | None:
    """How long before a day (ordinal) it was last hard pruned; None where no prune of before still tells."""
    ago = [day - at for at in pruned if 0 <= day - at < PRUNED_DAYS]
    return min(ago, default=None)


def own_k(
    entries: Sequence[Entry], pot: PotFacts, air: SiteAir, pruned: Sequence[int] = ()
) -> tuple[list[float], list[tuple[int, Odd]]]:
    """K by each pair of weighings, watered one day and weighed again the next; and the pairs that are odd.

    `pruned`: days of hard prunes. A pair weighed after one has what that takes off in it already, so it is
    reckoned back to the whole crown.
    """
    weighed = {entry.day: entry for entry in entries if entry.weighed_g is not None}
    found: list[float] = []
    odd: list[tuple[int, Odd]] = []
    for day, first in sorted(weighed.items()):
        second = weighed.get(day + 1)
        et0 = air.day(day).et0_mm
        if second is None or not first.watered or et0 <= 0:
            continue
        assert first.weighed_g is not None and second.weighed_g is not None
        lost = (first.weighed_g - second.weighed_g) / 1000
        k = weighed_k(lost, et0, pot.area_m2) if lost > 0 else 0.0
        if lost <= 0 or k > MOST_K:
            odd.append((day, "lost nothing" if lost <= 0 else "lost too much"))
        else:
            ago = _pruned_ago(pruned, day)
            found.append(k if ago is None else k / pruned_share(ago))
    return found, odd


def _range_of(found: Sequence[float]) -> tuple[float, float, float]:
    if not found:
        return K_RANGE
    k = sum(found) / len(found)
    return k * (1 - WEIGHED_RANGE), k, k * (1 + WEIGHED_RANGE)


def _need(
    tree: Tree,
    bench: Bench,
    name: str,
    entries: Sequence[Entry],
    works: Works,
    air: SiteAir,
    today: int,
) -> Need:
    pot = pot_of(tree)
    pruned = [entry.day for entry in entries if entry.did in works.prunes]
    weighings, unused = own_k(entries, pot, air, pruned)
    k = _range_of(weighings)
    watered = [
        entry.day
        for entry in entries
        if (entry.watered or entry.did in works.watering) and entry.day > today - _FORGOTTEN_DAYS
    ]
    start = max(watered, default=today)
    under_cover = bench.floor_c is not None or bench.vent_c is not None or bench.stands == "under-eaves"
    days = [_felt(air.day(day), under_cover) for day in range(start, today + _AHEAD_DAYS)]
    ago = _pruned_ago(pruned, today)
    elapsed = today - start
    dry = dry_at(pot, days, k, ago, elapsed)
    now = days[elapsed]
    look = max(dry.early - elapsed, 0.0)
    if now.et0_mm > _DAILY_ET0_MM and pot.litres < _SMALL_LITRES:
        look = min(look, 1.0)
    hot = now.tmax_c >= _TWICE_C
    twice = hot and dry.early < 1.0
    return Need(
        tree.id, name, pot, dry, today, look, bool(watered), twice, len(weighings), tuple(unused), ago
    )


def _felt(day: PotWeather, under_cover: bool) -> PotWeather:
    return replace(day, rain_mm=0.0) if under_cover else day
