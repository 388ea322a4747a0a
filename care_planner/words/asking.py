"""A question of the calendar in English: whether a work was done, what to note, what it costs if not."""

from collections.abc import Collection, Iterable, Iterator, Mapping

from care_planner.tasks.questions import Question
from care_planner.words.days import short_day
from care_planner.words.titles import lower

TREES_NAMED = 6


PartDone = Mapping[tuple[str, str, int], tuple[int, int]]
NOTHING_IN_PART: PartDone = {}


def question_words(asked: Question, part_done: PartDone = NOTHING_IN_PART) -> str:
    """One question in a sentence or two; of a tray that is done in part it asks for the rest."""
    names = ", ".join(asked.trees[:TREES_NAMED])
    more = len(asked.trees) - TREES_NAMED
    names += f" and {more} more" if more > 0 else ""
    count = f"{len(asked.trees)} trees" if len(asked.trees) > 1 else asked.trees[0]
    words = f"{asked.title} ({count}, due by {short_day(asked.since - 1)}): {asked.asks}"
    words += "".join(f" {rest}" for rest in rest_words(asked, asked.trees, part_done))
    words += f" If yes, note: did {asked.rule}. If no, note: skipped {asked.rule}."
    words += missed_words("If it was missed", asked, asked.trees)
    return f"{words} Trees: {names}." if len(asked.trees) > 1 else words


def missed_words(head: str, asked: Question, trees: Collection[str]) -> str:
    """What then, for these trees: one taxon's advice is never given to another's."""
    held = [one for one in asked.missed if not set(one.trees).isdisjoint(trees)]
    whole = len(held) == 1 and set(trees) <= set(held[0].trees)
    told = []
    for one in held:
        words = lower(one.words.rstrip("."))
        told.append(f"{words}." if whole else f"{', '.join(one.of)}: {words}.")
    return " ".join(["", f"{head}:", *told]) if told else ""


def rest_words(asked: Question, trees: Iterable[str], part_done: PartDone) -> Iterator[str]:
    """`cuttings: 12 of 24 are done; the other 12?` for each tray of which a part is noted."""
    for tree in trees:
        done, of = part_done.get((tree, asked.rule, asked.season), (0, 0))
        if done:
            yield f"{tree}: {done} of {of} are noted as done; were the other {of - done}?"
