"""What speaks against an entry: it can be so, but is more often a slip. Pure."""

from collections.abc import Iterable, Iterator
from datetime import date

from care_planner.journal.model import Entry
from care_planner.rulebook.effect import Effect
from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.pack import TaxonRules
from care_planner.spans import season_of
from care_planner.stages.history import History
from care_planner.stages.noted import history_of


def doubts(entry: Entry, notes: Iterable[Entry], rules: TaxonRules, south: bool) -> list[str]:
    """What earlier notes of the same tree say against a new entry, in words; empty where nothing does."""
    season = season_of(entry.day, south)
    new, old = history_of([entry], rules, south), history_of(notes, rules, south)
    said = [
        *_no_buds(new, old, rules, season, entry.day),
        *_same_stage(new, old),
        *_out_of_order(new, old, rules, season, entry.day),
        *_fewer_open(new, old, rules, season),
        *_not_yet(new, old, rules, season, entry.day),
    ]
    return list(dict.fromkeys(said))


def _no_buds(new: History, old: History, rules: TaxonRules, season: int, day: int) -> Iterator[str]:
    """A flower where work has taken the buds of this season."""
    if not new.opened and not any(rules.stages[id].flowering for id, _ in new.stages):
        return
    for (id, of), days in old.works.items():
        for effect in rules.rules[id].effects:
            # Whether a cut came too late only the plan can say: a flower seen then is no slip of the pen.
            if effect.if_late or not _takes_flowers(effect):
                continue
            if of + SEASON_STEP[effect.season] != season or min(days) > day:
                continue
            yield f"'{rules.rules[id].title}' was noted on {_iso(min(days))}, so no flower comes in {season}"


def _takes_flowers(effect: Effect) -> bool:
    return effect.set is not None and "none" in (effect.set.buds, effect.set.bloom)


def _same_stage(new: History, old: History) -> Iterator[str]:
    """A stage seen for a second time: the first day is the one that counts."""
    for key, day in new.stages.items():
        before = old.stages.get(key)
        if before is not None and day != before:
            yield f"{key[0]} was noted on {_iso(before)} already, and the earlier day counts"


def _out_of_order(new: History, old: History, rules: TaxonRules, season: int, day: int) -> Iterator[str]:
    """A stage behind one that was noted before, or ahead of one that was noted after."""
    place = {id: number for number, id in enumerate(rules.stages)}
    shares = _share_of_stage(rules)
    seen = [id for id, _ in new.stages] or [_furthest(share, shares) for _, share in _opened(new, season)]
    for id in seen:
        for (other, of), other_day in old.stages.items():
            if of != season or (id in shares and other in shares):
                continue  # shares are compared as numbers
            if place[other] > place[id] and other_day < day:
                yield f"{other}, which comes after {id}, was noted on {_iso(other_day)}"
            elif place[other] < place[id] and other_day > day:
                yield f"{other}, which comes before {id}, was noted on {_iso(other_day)}"


def _fewer_open(new: History, old: History, rules: TaxonRules, season: int) -> Iterator[str]:
    """Fewer flowers open than were before, or more than were after."""
    shares = _share_of_stage(rules)
    for day, share, _ in _shares(new, season, shares):
        for other_day, other, name in _shares(old, season, shares):
            if (other_day < day and other > share) or (other_day > day and other < share):
                yield f"{name} was noted on {_iso(other_day)}"


def _not_yet(new: History, old: History, rules: TaxonRules, season: int, day: int) -> Iterator[str]:
    """A stage not reached after it was, or reached before it was not."""
    curve = rules.taxon.bloom_curve
    for (id, of), last in new.not_yet.items():
        reached = [old.stages[id, of]] if (id, of) in old.stages else []
        if curve is not None and id == curve.since:
            reached += [at for at, share in _opened(old, season) if share > 0]
        yield from (f"{id} was noted as reached on {_iso(at)}" for at in reached if at < last)
    seen = {id for id, _ in new.stages}
    if curve is not None and any(share > 0 for _, share in _opened(new, season)):
        seen.add(curve.since)
    for id in sorted(seen):
        if old.not_yet.get((id, season), day) > day:
            yield f"{id} was noted as not reached on {_iso(old.not_yet[id, season])}"


def _opened(history: History, season: int) -> tuple[tuple[int, float], ...]:
    return history.opened.get(season, ())


def _share_of_stage(rules: TaxonRules) -> dict[str, float]:
    """Stages that are a share open, with that share (0 to 1); the first flower counts as none."""
    curve = rules.taxon.bloom_curve
    shares = {curve.since: 0.0} if curve is not None else {}
    for id, stage in rules.stages.items():
        if stage.reached.share_open is not None:
            shares[id] = stage.reached.share_open
    return shares


def _shares(history: History, season: int, shares: dict[str, float]) -> list[tuple[int, float, str]]:
    """Day, share and what was noted, for every note of the season that is a share open."""
    named = {(day, share): f"{share:.0%} open" for day, share in _opened(history, season)}
    named |= {
        (day, shares[id]): id for (id, of), day in history.stages.items() if of == season and id in shares
    }
    return sorted((day, share, name) for (day, share), name in named.items())


def _furthest(share: float, shares: dict[str, float]) -> str:
    """The last stage of bloom that is reached with so much open."""
    return max((at, id) for id, at in shares.items() if at <= share)[1]


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()
