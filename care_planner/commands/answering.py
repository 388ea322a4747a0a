"""answer: asks, tree by tree, for the facts that decide most works, and writes them into the collection."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from care_planner.commands.tools import echo, here_argument, now, read, told

if TYPE_CHECKING:
    from care_planner.folder.lists.questions import ListQuestion
    from care_planner.folder.read_folder import Inputs

FOR_ALL = " all"


@click.command()
@here_argument
def answer(folder: Path) -> None:
    """Ask for the facts that decide most works, tree by tree.

    Enter leaves a question open; "strong all" answers for all trees that are left. The answers go into
    collection.yaml, whose comments and order stay as they are.
    """
    with told():
        written, asked, stopped = 0, set[tuple[str, str]](), False
        while not stopped:
            # An answer can lead to the next question: a rule asks for one fact after the other.
            inputs = read(folder)
            open_questions = [q for q in _questions(inputs) if {(q.fact, t) for t in q.trees} - asked]
            if not open_questions:
                break
            if not asked:
                echo('Enter leaves a question open; "strong all" answers for all trees that are left.')
            count, stopped = _answers(folder, open_questions, asked, inputs.collection.site.latitude < 0)
            asked |= {(question.fact, tree) for question in open_questions for tree in question.trees}
            written += count
        if not asked:
            echo("No fact is missing that a work waits for.")
            return
        answers = "1 answer" if written == 1 else f"{written} answers"
        echo(f"{answers} written to {folder / 'collection.yaml'}")


def _answers(
    folder: Path, open_questions: "list[ListQuestion]", asked: set[tuple[str, str]], south: bool
) -> tuple[int, bool]:
    """How many answers were written, and whether the person stopped; what was `asked` is not asked again.

    Each is written before the next is asked for: a terminal that is closed says nothing to the program.
    """
    written = 0
    try:
        for question in open_questions:
            trees = [tree for tree in question.trees if (question.fact, tree) not in asked]
            for told_of, value in _ask(question, trees, south):
                written += _written(folder, {tree: {question.fact: value} for tree in told_of})
    except (click.Abort, EOFError):
        echo()
        return written, True
    return written, False


def _written(folder: Path, facts: dict[str, dict[str, Any]]) -> int:
    from care_planner.folder.write_facts import write_facts

    return write_facts(folder, facts)


def _questions(inputs: "Inputs") -> "list[ListQuestion]":
    from care_planner.folder.lists.questions import questions
    from care_planner.plan import make_plan
    from care_planner.tasks.telling import facts_needed

    today = now(inputs).date().toordinal()
    plan = make_plan(inputs.collection, inputs.entries, inputs.record, inputs.rulebook, today)
    return questions(facts_needed(plan.fates, plan.season), inputs.collection.trees)


def _ask(question: "ListQuestion", trees: list[str], south: bool) -> Iterator[tuple[list[str], Any]]:
    """Each answer with the trees that it is for."""
    from care_planner.folder.lists.questions import QUESTIONS, answered

    words, allowed = QUESTIONS[question.fact]
    works = "1 work waits" if question.works == 1 else f"{question.works} works wait"
    echo(f"\n{words}? {works} for that.")
    for number, tree in enumerate(trees):
        while told_words := click.prompt(f"  {tree}", default="", show_default=False).strip():
            value, read_as = answered(question.fact, told_words.removesuffix(FOR_ALL), south)
            if read_as:
                echo(f"  {read_as}")
            if value is None:
                echo(f"  {told_words!r} is not understood; {_allowed(allowed)}")
                continue
            if told_words.endswith(FOR_ALL):
                yield trees[number:], value
                return
            yield [tree], value
            break


def _allowed(words: tuple[str, ...]) -> str:
    return f"allowed: {', '.join(words)}" if words else "allowed: 2025-03-20, 20.3.2025, March 2025 or 2025"
