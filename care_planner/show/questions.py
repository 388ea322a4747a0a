"""What is asked, as lines of 80 columns."""

from collections.abc import Iterable, Iterator

from care_planner.show.plan import wrapped
from care_planner.tasks.questions import Question
from care_planner.words.asking import question_words


def question_lines(questions: Iterable[Question]) -> Iterator[str]:
    """One paragraph a question; nothing where nothing is asked."""
    questions = list(questions)
    if not questions:
        return
    yield ""
    yield "To answer, with a note for each tree"
    for asked in questions:
        yield from wrapped(question_words(asked), "  ", "    ")
