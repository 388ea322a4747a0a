"""A tree's history -> what each note says of its pace."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from care_planner.learning.past import PaceReading, PastWeather, Track, days_by_pace, read_pace
from care_planner.rulebook.pack import TaxonRules
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.stages.history import History
from care_planner.stages.stage import effects_on

# How far a noted day lies from the true one (standard deviations, days): common practice, no source. What
# is beyond a plain note's is for the note that is reckoned back through the bloom curve, or remembered.
PLAIN_DAYS = 1.0
SHARE_DAYS = 2.5
REMEMBERED_DAYS = 7.0


@dataclass(frozen=True)
class TreeNotes:
    """What learning asks of a tree. `remembered`: the day in the middle of the bloom, by season.

    `variety` multiplies the warmth that flowering stages need.
    """

    tree: str
    history: History
    track: Track
    variety: float = 1.0
    remembered: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Note:
    """One note as a log pace with its variance; `is_bound`: the pace is above `log_pace`, not at it.

    `day` is the one noted. `late_days`: days after the day its taxon would have had (before it: negative);
    `per_day`: log pace from one day to the next around that day.
    """

    tree: str
    stage: str
    season: int
    day: int
    log_pace: float
    variance: float
    late_days: float
    per_day: float
    what: str
    is_bound: bool = False


@dataclass(frozen=True)
class _Seen:
    stage: str
    season: int
    day: int  # of the stage, as noted or reckoned
    noted: int
    error_days: float
    what: str
    is_bound: bool = False
    is_known: bool = True  # False: the weather to reckon its day with is not there


def notes_of(tree: TreeNotes, rules: TaxonRules, weather: PastWeather) -> list[Note]:
    """Every note of a tree that says something of its pace, where the season's weather is known."""
    return [note for _, note in _read_all(tree, rules, weather) if note is not None]


def unread(tree: TreeNotes, rules: TaxonRules, weather: PastWeather) -> list[tuple[str, int]]:
    """What was noted and on which day, of notes that say nothing: their weather is not known, or the stage
    does not wait for warmth."""
    return [(seen.what, seen.noted) for seen, note in _read_all(tree, rules, weather) if note is None]


def _read_all(
    tree: TreeNotes, rules: TaxonRules, weather: PastWeather
) -> Iterator[tuple[_Seen, Note | None]]:
    for seen in sorted(_seen(tree, rules, weather), key=lambda s: (s.season, s.stage, s.day, s.what)):
        if seen.season not in weather.seasons or not seen.is_known:
            yield seen, None
            continue
        track = replace(tree.track, moves=_moves_in(tree, seen.season, weather))
        day = seen.day + 1 if seen.is_bound else seen.day
        others = _others(seen, tree.history)
        days = days_by_pace(seen.stage, seen.season, weather, track, rules, others, tree.variety)
        reading = read_pace(day, days)
        yield seen, _note(tree.tree, seen, reading) if reading is not None else None


def _note(tree: str, seen: _Seen, reading: PaceReading) -> Note:
    return Note(
        tree,
        seen.stage,
        seen.season,
        seen.noted,
        reading.log_pace - (reading.per_day / 2 if seen.is_bound else 0.0),
        (seen.error_days * reading.per_day) ** 2,
        reading.late_days,
        reading.per_day_at_taxon,
        seen.what,
        seen.is_bound,
    )


def _seen(tree: TreeNotes, rules: TaxonRules, weather: PastWeather) -> Iterator[_Seen]:
    history, curve = tree.history, rules.taxon.bloom_curve
    for (stage, season), day in history.stages.items():
        if stage in rules.stages and not _ended_by_work(stage, season, day, history, rules):
            yield _Seen(stage, season, day, day, PLAIN_DAYS, rules.stages[stage].title)
    for (stage, season), day in history.not_yet.items():
        if stage in rules.stages and (stage, season) not in history.stages:
            yield _Seen(stage, season, day, day, PLAIN_DAYS, f"not yet: {rules.stages[stage].title}", True)
    if curve is None:
        return
    noted = {season for stage, season in history.stages if _shows_bloom(stage, rules)}
    shares = {season: (*min(opened), SHARE_DAYS) for season, opened in history.opened.items()}
    for season, day in tree.remembered.items():
        shares.setdefault(season, (day, 0.5, REMEMBERED_DAYS))
    for season, (day, share, error) in shares.items():
        if season in noted:
            continue
        covered = season in weather.seasons
        first = _first_flower(day, share, season, tree, rules, weather) if covered else None
        what = "remembered bloom" if error == REMEMBERED_DAYS else f"{share:.0%} open"
        reckoned = day if first is None else first
        yield _Seen(curve.since, season, reckoned, day, error, what, is_known=first is not None)


def _shows_bloom(stage: str, rules: TaxonRules) -> bool:
    """Whether a stage seen says itself how far the bloom was: a share open then tells nothing more."""
    curve = rules.taxon.bloom_curve
    by_share = stage in rules.stages and rules.stages[stage].reached.share_open is not None
    return by_share or (curve is not None and stage == curve.since)


def _first_flower(
    day: int, share: float, season: int, tree: TreeNotes, rules: TaxonRules, weather: PastWeather
) -> int | None:
    """The day of the first flower, reckoned back from a share open through the bloom curve."""
    curve = rules.taxon.bloom_curve
    assert curve is not None
    frame = weather.frame(season, 1)
    track = replace(tree.track, moves=_moves_in(tree, season, weather))
    running = weather.on(track).running(curve.by)
    ends, needs = np.array([float(day + 1 - frame.first_day)]), np.array([curve.warmth_at(share)])
    earliest = frame.start_of(0) - frame.first_day
    found = float(running.last_leaving(frame.rows, ends, needs, earliest)[0])
    return int(found) + frame.first_day if np.isfinite(found) else None


def _others(seen: _Seen, history: History) -> History:
    """What was seen of the tree's other stages in the season, and its work and signs."""
    stages = {key: day for key, day in history.stages.items() if key[0] != seen.stage and day <= seen.day}
    return History(stages=stages, works=history.works, signs=history.signs)


def _ended_by_work(stage: str, season: int, day: int, history: History, rules: TaxonRules) -> bool:
    return any(
        effect.ends_stage == stage and any(at <= day for at in history.works.get((id, season + step), ()))
        for id, step, effect in effects_on(stage, 0, rules)
    )


def _moves_in(tree: TreeNotes, season: int, weather: PastWeather) -> tuple[tuple[int, str], ...]:
    """Moves as days after the season's midwinter: those noted around it; where none was, those of every
    year, else where the last noted move had taken it."""
    start = weather.frame(season, 1).start_of(0)
    noted = [(day - start, bench) for day, bench in tree.history.moves]
    around = [move for move in noted if abs(move[0]) <= HALF_YEAR_DAYS]
    usual = {bench for _, bench in tree.track.moves}
    if {bench for _, bench in around} <= usual:
        # In or out without a note: as in every year, as a plan takes it.
        told = {bench for _, bench in around}
        around = sorted(around + [move for move in tree.track.moves if move[1] not in told])
        if usual:
            return tuple(around)
    before = [(weather.first_offset, bench) for day, bench in noted if day < -HALF_YEAR_DAYS]
    return tuple(before[-1:] + around)
