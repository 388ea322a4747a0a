"""Journal entries of one tree -> its history by season."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from care_planner.journal.model import Entry, Saw
from care_planner.problems import did_you_mean
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import Rule
from care_planner.rulebook.taxon import Stage
from care_planner.spans import HALF_YEAR_DAYS, season_of, season_start
from care_planner.stages.history import History, Key

# BBCH 61 to 64 are tenths of the flowers open (Meier 2001).
OPEN_TENTHS = {61: 0.1, 62: 0.2, 63: 0.3, 64: 0.4}


def history_of(
    entries: Iterable[Entry], taxon: TaxonRules, south: bool, last_repot: int | None = None
) -> History:
    """Sort what was noted by stage, work and season. Entries that `not_understood` names are left out.
    Work done on a part of a tray only is not done; on how many plants is kept.

    A `last_repot` (ordinal) that the collection tells counts as a note, unless one tells of root work in
    that season.
    """
    notes = _Notes(taxon, south)
    for entry in entries:
        notes.add(entry)
    if last_repot is not None:
        notes.repotted(last_repot)
    return notes.history()


@dataclass
class _Notes:
    """The notes of one tree while they are sorted. Where a thing was noted twice the first sight of a stage
    or a sign holds, and the last "not yet" and "put off"."""

    taxon: TaxonRules
    south: bool
    stages: dict[Key, int] = field(default_factory=dict)
    not_yet: dict[Key, int] = field(default_factory=dict)
    signs: dict[Key, int] = field(default_factory=dict)
    opened: defaultdict[int, set[tuple[int, float]]] = field(default_factory=lambda: defaultdict(set))
    works: defaultdict[Key, set[int]] = field(default_factory=lambda: defaultdict(set))
    skipped: set[Key] = field(default_factory=set)
    put_off: dict[Key, int] = field(default_factory=dict)
    in_part: dict[Key, tuple[int, int]] = field(default_factory=dict)
    moves: set[tuple[int, str]] = field(default_factory=set)
    conditions: set[tuple[int, str]] = field(default_factory=set)

    def add(self, entry: Entry) -> None:
        if entry.saw is not None:
            for kind, id, share in _seen(entry.saw, self.taxon):
                self._saw(kind, id, share, entry.day)
        for word in (entry.did, entry.skipped, entry.put_off):
            for id in self.taxon.rules_noted_as(word) if word else ():
                self._worked((id, work_season(self.taxon.rules[id], entry.day, self.south)), entry)
        if entry.moved_to:
            self.moves.add((entry.day, entry.moved_to))
        if entry.condition:
            self.conditions.add((entry.day, entry.condition))

    def _saw(self, kind: str, id: str, share: float, day: int) -> None:
        of_stage = season_of(day, self.south) + _begins_before(self.taxon, id, day, self.south)
        if kind == "stage":
            key = (id, _stage_season(self.taxon.stages[id], day, self.south))
        else:
            key = (id, of_stage)
        if kind == "not-yet":
            self.not_yet[key] = max(self.not_yet.get(key, day), day)
        elif kind != "open":
            found = self.signs if kind == "sign" else self.stages
            found[key] = min(found.get(key, day), day)
        if kind == "open" or (kind != "not-yet" and share > 0):
            self.opened[of_stage].add((day, share))

    def _worked(self, key: Key, entry: Entry) -> None:
        if entry.plants:
            self.in_part[key] = max(self.in_part.get(key, (0, 0)), (entry.day, entry.plants))
        elif entry.did:
            self.works[key].add(entry.day)
        elif entry.skipped:
            self.skipped.add(key)
        else:
            self.put_off[key] = max(self.put_off.get(key, 0), entry.until)

    def repotted(self, day: int) -> None:
        told, rules = season_of(day, self.south), self.taxon.rules
        if not any(season == told and rules[id].kind == "roots" for id, season in self.works):
            for id in self.taxon.rules_noted_as("repot"):
                self.works[id, told].add(day)

    def history(self) -> History:
        return History(
            self.stages,
            {season: tuple(sorted(notes)) for season, notes in self.opened.items()},
            _at_latest(self.stages, self.taxon),
            self.not_yet,
            {key: tuple(sorted(days)) for key, days in self.works.items()},
            frozenset(self.skipped),
            self.put_off,
            self.in_part,
            self.signs,
            tuple(sorted(self.moves)),
            tuple(sorted(self.conditions)),
        )


def _at_latest(seen: Mapping[Key, int], taxon: TaxonRules) -> dict[Key, int]:
    """The days by which flowering stages must have come, since later ones of the same bloom were seen."""
    found: dict[Key, int] = {}
    for (id, season), day in seen.items():
        for stage in taxon.stages.values():
            if stage.flowering and taxon.stages[id].flowering and stage.bbch < taxon.stages[id].bbch:
                found[stage.id, season] = min(found.get((stage.id, season), day), day)
    return found


def _seen(saw: Saw, taxon: TaxonRules) -> Iterator[tuple[str, str, float]]:
    """(kind, id, share open) for what was seen; nothing where the taxon has no such stage."""
    curve = taxon.taxon.bloom_curve
    if saw.not_yet:
        stage = saw.stage or (curve.since if curve is not None else "")
        if stage in taxon.stages:
            yield "not-yet", stage, 0.0
    elif saw.share_open is not None:
        if curve is not None:
            yield "open" if saw.share_open > 0 else "not-yet", curve.since, saw.share_open
    elif saw.bbch is not None:
        code = f"{saw.bbch:02}"
        matching = [id for id, stage in taxon.stages.items() if code in stage.bbch.split("/")]
        if matching:
            yield "stage", matching[0], taxon.stages[matching[0]].reached.share_open or 0.0
        elif saw.bbch in OPEN_TENTHS and curve is not None:
            yield "open", curve.since, OPEN_TENTHS[saw.bbch]
    elif saw.stage in taxon.stages:
        yield "stage", saw.stage, taxon.stages[saw.stage].reached.share_open or 0.0
    elif saw.stage in taxon.signs:
        yield "sign", saw.stage, 0.0


def _stage_season(stage: Stage, day: int, south: bool) -> int:
    """The season a stage seen on a day belongs to. BBCH principal stage 9 (growth ends, leaves fall, rest;
    Meier 2001) ends a season: seen before midsummer it is that of the season before. A stage that may come
    before the new year is, seen after midsummer, of the season to come."""
    season = season_of(day, south)
    before_midsummer = day < season_start(season, south) + HALF_YEAR_DAYS
    if stage.over_winter:
        return season if before_midsummer else season + 1
    return season - 1 if before_midsummer and stage.bbch.startswith("9") else season


def _begins_before(taxon: TaxonRules, stage: str, day: int, south: bool) -> int:
    """1 for a day after midsummer of a stage that is of the season to come, else 0."""
    if stage not in taxon.stages or not taxon.stages[stage].over_winter:
        return 0
    return int(day >= season_start(season_of(day, south), south) + HALF_YEAR_DAYS)


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
    for word in (entry.did, entry.skipped, entry.put_off):
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
    """Whether the rule's window closes with something of the next season, or leads up to the first cold
    night. One that opens by itself in spring and ends with that night is of its own season."""
    leads_up = any(part.of == "closes" for part in rule.opens.walk())
    return any(_of_next(part, leads_up) for part in rule.closes.walk())


def _of_next(moment: Moment, leads_up: bool) -> bool:
    return moment.season == "next" or (leads_up and moment.first_night is not None)
