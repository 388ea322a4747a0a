"""What is asked: work of which no note tells, one question for all its trees."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.rule import Rule
from care_planner.years.outcome import Outcome
from care_planner.years.state import Shared, TreeYears

# A question stands so many days after the last of its trees' work was to be done.
DAYS_AFTER = 7


@dataclass(frozen=True, slots=True, order=True)
class Unanswered:
    """One tree's part of a question. `last_day` (an ordinal) is the last on which the work was to be done;
    `is_open` once that has passed without a note."""

    rule: str
    season: int
    last_day: int
    is_open: bool


@dataclass(frozen=True, slots=True, order=True)
class Missed:
    """What the packs say where it was not done, and the `trees` and the titles of the taxa they say it of."""

    words: str
    of: tuple[str, ...]
    trees: tuple[str, ...]


@dataclass(frozen=True, slots=True, order=True)
class Question:
    """Whether a rule's work was done in a season, asked of all `trees` together until they are noted.

    `on` is the fixed day on which the calendar asks, `since` the day after the last on which the work was
    to be done; both are ordinals. `title` is the work's, `asks` the question, `missed` what then, by taxon,
    where it was not done. The answers are the notes `did RULE` and `skipped RULE`.
    """

    on: int
    rule: str
    season: int
    title: str
    asks: str
    trees: tuple[str, ...]
    since: int
    missed: tuple[Missed, ...] = ()

    @property
    def key(self) -> str:
        """Its identity within the collection: never a date."""
        return f"{self.rule}/{self.season}/question"


def unanswered(years: TreeYears) -> tuple[Unanswered, ...]:
    """The works of a tree that are asked for, and those that will be if nobody notes them."""
    return tuple(
        Unanswered(id, years.frame.season + step, _last_day(outcome), outcome.is_open)
        for (id, step), outcome in sorted(years.outcomes.items(), key=lambda item: item[0])
        if outcome.rule.asks is not None and step in (-1, 0) and outcome.state in ("open", "planned")
    )


def _last_day(outcome: Outcome) -> int:
    closes = outcome.window.median("closes") if outcome.window is not None else np.inf
    last = outcome.last_day
    return int(last if outcome.is_open or not np.isfinite(closes) else max(closes, last))


def questions(
    parts: Iterable[tuple[str, str, Unanswered]], rulebook: Rulebook, shared: Shared
) -> tuple[Question, ...]:
    """One question for each rule and season with a tree that waits for it; `parts` are (tree, taxon, part).

    The day hangs on all trees that have the work in that season, so that it does not move as one after the
    other becomes due.
    """
    asked: defaultdict[tuple[str, int], list[tuple[str, str, Unanswered]]] = defaultdict(list)
    for tree, taxon, part in parts:
        asked[part.rule, part.season].append((tree, taxon, part))
    found = []
    for (rule, season), own in asked.items():
        open_ = sorted((tree, taxon) for tree, taxon, part in own if part.is_open)
        if not open_:
            continue
        commonest = Counter(taxon for _, taxon in open_).most_common(1)[0][0]
        told = rulebook.taxa[commonest].rules[rule]
        last = max(part.last_day for _, _, part in own)
        since = max(part.last_day for _, _, part in own if part.is_open) + 1
        trees = tuple(tree for tree, _ in open_)
        on = _free_day(last + DAYS_AFTER, shared)
        title = _title({taxon for _, taxon in open_}, told, rulebook)
        missed = _missed(open_, rule, rulebook)
        found.append(Question(on, rule, season, title, told.asks or "", trees, since, missed))
    return tuple(sorted(found))


def _title(taxa: Iterable[str], told: Rule, rulebook: Rulebook) -> str:
    """The work's title; where the taxa call it otherwise, the name it is told under for all."""
    alike = len({rulebook.taxa[taxon].rules[told.id].title for taxon in taxa}) == 1
    return told.title if alike else told.together or told.title


def _missed(trees: Iterable[tuple[str, str]], rule: str, rulebook: Rulebook) -> tuple[Missed, ...]:
    """What the packs of (tree, taxon) say of the missed work, each text once."""
    own: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for tree, taxon in trees:
        if words := rulebook.taxa[taxon].rules[rule].missed:
            own[words].append((tree, rulebook.taxa[taxon].title))
    return tuple(
        Missed(words, tuple(dict.fromkeys(title for _, title in said)), tuple(tree for tree, _ in said))
        for words, said in own.items()
    )


def _free_day(first: int, shared: Shared) -> int:
    """The first favourite day from `first` on on which somebody is there, within two weeks."""
    days = shared.workdays
    for day in range(first, first + 14):
        column = day - days.first_day
        if 0 <= column < days.away.size and days.favourite[column] and not days.away[column]:
            return day
    return first
