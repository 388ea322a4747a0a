"""What these tests share: past seasons of smooth weather, and days on which trees of known paces came."""

from collections.abc import Mapping
from functools import cache

import numpy as np
from small_world import LATITUDE, day, shipped, smooth_record

from care_planner.collection.site import Bench
from care_planner.learning.learn import Learnt, learn
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.past import PastSeason, PastWeather, Track
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.taxon import Pace
from care_planner.stages.history import History

SATSUKI = shipped("satsuki-azalea", "korean-azalea").taxa["satsuki-azalea"]
KOREAN = shipped("satsuki-azalea", "korean-azalea").taxa["korean-azalea"]
FIRST = "first-flower"
NEXT = 2012  # the season after the noted ones
PLAIN_PACE = Pace.model_validate({"spread": "0.1", "source": "made up"})
OPEN = Track("open")


@cache
def past() -> PastWeather:
    """The smooth record on an open bench, up to the spring of the season after the noted ones."""
    return PastWeather(smooth_record(), LATITUDE, {"open": Bench()}, day(f"{NEXT}-01-10"))


def day_at(log_pace: float, stage: str, season: int, rules: TaxonRules = SATSUKI) -> int:
    """The day on which a tree of that pace comes to a stage."""
    weather = past()
    pace = np.exp(np.array([log_pace]))
    view = PastSeason(weather.frame(season, 1), weather.on(OPEN), rules, History(), pace, 1.0)
    return int(view.stage(stage, 0)[0])


def seen(tree: str, days: Mapping[tuple[str, int], int], rules: TaxonRules = SATSUKI) -> list[Note]:
    """Notes of a tree that was seen on these days."""
    return notes_of(TreeNotes(tree, History(stages=days), OPEN), rules, past())


def learnt(*notes: Note, pace: Pace = SATSUKI.taxon.pace, season: int = NEXT) -> Learnt:
    """What notes teach for the first flower and the buds of a season."""
    return learn(notes, pace, ("bud-swell", FIRST), [season])


def mean_of(found: Learnt, tree: str, stage: str = FIRST, season: int = NEXT) -> float:
    """The mean of a tree's log pace."""
    return found.belief(tree).of(stage, season, PLAIN_PACE)[0]


def spread_of(found: Learnt, tree: str, stage: str = FIRST, season: int = NEXT) -> float:
    """The spread of a tree's log pace."""
    return found.belief(tree).of(stage, season, PLAIN_PACE)[1]


def in_days(found: Learnt, tree: str) -> float:
    """Days of first flower that a tree's belief lies from its taxon's, with the rate of the noted seasons."""
    per_day = np.median([note.per_day for note in seen("x", {(FIRST, 2009): day_at(0.0, FIRST, 2009)})])
    return mean_of(found, tree) / float(per_day)


def note(stage: str, season: int, log_pace: float, tree: str = "a", is_bound: bool = False) -> Note:
    """A plain note in a spring in which a day is 0.014 of log pace."""
    late = log_pace / 0.014
    on = day(f"{season}-04-20") + round(late)
    return Note(tree, stage, season, on, log_pace, 0.014**2, late, 0.014, stage, is_bound)
