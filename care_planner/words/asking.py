"""A question of the calendar in English: whether a work was done, what to note, what it costs if not."""

from care_planner.tasks.questions import Question
from care_planner.words.days import short_day

TREES_NAMED = 6


def question_words(asked: Question) -> str:
    """One question in a sentence or two."""
    names = ", ".join(asked.trees[:TREES_NAMED])
    more = len(asked.trees) - TREES_NAMED
    names += f" and {more} more" if more > 0 else ""
    count = f"{len(asked.trees)} trees" if len(asked.trees) > 1 else asked.trees[0]
    words = f"{asked.title} ({count}, due by {short_day(asked.since - 1)}): {asked.asks}"
    words += f" If yes, note: did {asked.rule}. If no, note: skipped {asked.rule}."
    if asked.missed:
        words += f" If it was missed: {asked.missed[0].lower()}{asked.missed[1:]}."
    return f"{words} Trees: {names}." if len(asked.trees) > 1 else words
