"""Journal entries of one tree -> its history by season."""

from collections import defaultdict
from collections.abc import Iterable, Iterator

from care_planner.journal.model import Entry, Saw
from care_planner.problems import did_you_mean
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import Rule
from care_planner.spans import HALF_YEAR_DAYS, season_of, season_start
from care_planner.stages.history import History, Key

# BBCH 61 to 64 are tenths of the flowers open (Meier 2001).
OPEN_TENTHS = {61: 0.1, 62: 0.2, 63: 0.3, 64: 0.4}


def history_of(entries: Iterable[Entry], taxon: TaxonRules, south: bool) -> History:
    """Sort what was noted by stage, work and season. Entries that `not_understood` names are left out."""
    stages: dict[Key, int] = {}
    not_yet: dict[Key, int] = {}
    signs: dict[Key, int] = {}
    works: defaultdict[Key, set[int]] = defaultdict(set)
    opened: defaultdict[int, set[tuple[int, float]]] = defaultdict(set)
    skipped: set[Key] = set()
    moves: set[tuple[int, str]] = set()
    conditions: set[tuple[int, str]] = set()
    for entry in entries:
        season = season_of(entry.day, south)
        if entry.saw is not None:
            for kind, id, share in _seen(entry.saw, taxon):
                key = (id, season)
                if kind == "open":
                    opened[season].add((entry.day, share))
                elif kind == "not-yet":
                    not_yet[key] = max(not_yet.get(key, entry.day), entry.day)
                else:
                    found = signs if kind == "sign" else stages
                    found[key] = min(found.get(key, entry.day), entry.day)
        for word, into in ((entry.did, works), (entry.skipped, None)):
            for id in taxon.rules_noted_as(word) if word else ():
                key = (id, work_season(taxon.rules[id], entry.day, south))
                if into is not None:
                    into[key].add(entry.day)
                else:
                    skipped.add(key)
        if entry.moved_to:
            moves.add((entry.day, entry.moved_to))
        if entry.condition:
            conditions.add((entry.day, entry.condition))
    return History(
        stages,
        {season: tuple(sorted(notes)) for season, notes in opened.items()},
        not_yet,
        {key: tuple(sorted(days)) for key, days in works.items()},
        frozenset(skipped),
        signs,
        tuple(sorted(moves)),
        tuple(sorted(conditions)),
    )


def _seen(saw: Saw, taxon: TaxonRules) -> Iterator[tuple[str, str, float]]:
    """(kind, id, share) for what was seen; nothing where the taxon has no such stage."""
    curve = taxon.taxon.bloom_curve
    if saw.not_yet:
        stage = saw.stage or (curve.since if curve is not None else "")
        if stage in taxon.stages:
            yield "not-yet", stage, 0.0
    elif saw.share_open is not None:
        if curve is not None:
            yield "open", curve.since, saw.share_open
    elif saw.bbch is not None:
        code = f"{saw.bbch:02}"
        matching = [id for id, stage in taxon.stages.items() if code in stage.bbch.split("/")]
        if matching:
            yield "stage", matching[0], 0.0
        elif saw.bbch in OPEN_TENTHS and curve is not None:
            yield "open", curve.since, OPEN_TENTHS[saw.bbch]
    elif saw.stage in taxon.stages:
        yield "stage", saw.stage, 0.0
    elif saw.stage in taxon.signs:
        yield "sign", saw.stage, 0.0


def not_understood(entry: Entry, taxon: TaxonRules) -> tuple[str, str] | None:
    """What an entry says that the taxon's packs do not know, and what they do know."""
    saw = entry.saw
    if saw is not None and not any(True for _ in _seen(saw, taxon)):
        if saw.bbch is not None:
            codes = sorted({stage.bbch for stage in taxon.stages.values()})
            return f"no stage of {taxon.id} has the BBCH code {saw.bbch}", f"allowed: {', '.join(codes)}"
        if saw.share_open is not None:
            return f"{taxon.id} has no flowers whose share open could be noted", "allowed: a stage"
        if saw.not_yet and not saw.stage:
            return "not-yet of which stage?", "allowed: {not-yet: STAGE}"
        return f"unknown stage '{saw.stage}'", did_you_mean(saw.stage, [*taxon.stages, *taxon.signs])
    for word in (entry.did, entry.skipped):
        if word and not taxon.rules_noted_as(word):
            known = [*taxon.rules, *(w for rule in taxon.rules.values() for w in rule.noted_as)]
            return f"unknown work '{word}'", did_you_mean(word, known)
    return None


def work_season(rule: Rule, day: int, south: bool) -> int:
    """The season a day of this work belongs to: work that reaches over midwinter begins the season before."""
    season = season_of(day, south)
    before_midsummer = day < season_start(season, south) + HALF_YEAR_DAYS
    return season - 1 if before_midsummer and reaches_over_winter(rule) else season


def reaches_over_winter(rule: Rule) -> bool:
    """Whether the rule's window closes with something of the next season, or with the first cold night."""
    return any(_of_next(part) for part in rule.closes.walk())


def _of_next(moment: Moment) -> bool:
    return moment.season == "next" or moment.first_night is not None
