"""What is asked, as lines of 80 columns."""

from collections.abc import Iterable, Iterator

from care_planner.collection.model import Collection
from care_planner.folder.lists.questions import NAMED, questions
from care_planner.plan import Plan
from care_planner.show.wrapping import COLUMNS, wrapped
from care_planner.tasks.questions import Question
from care_planner.tasks.telling import facts_needed
from care_planner.tasks.unattended import next_absence
from care_planner.words.asking import NOTHING_IN_PART, PartDone, question_words
from care_planner.words.unattended import absence_words, away_command


def question_lines(questions: Iterable[Question], part_done: PartDone = NOTHING_IN_PART) -> Iterator[str]:
    """One paragraph a question; nothing where nothing is asked."""
    questions = list(questions)
    if not questions:
        return
    yield ""
    yield "To answer, with a note for each tree"
    for asked in questions:
        yield from wrapped(question_words(asked, part_done), "  ", "    ")


def lacking_lines(plan: Plan, collection: Collection, folder: str) -> Iterator[str]:
    """What a plan lacks most, before all else: the facts that works wait for, and how to tell them."""
    asked = questions(facts_needed(plan.fates, plan.season), collection.trees)
    if not asked:
        return
    works = sum(one.works for one in asked)
    waiting = "1 work waits" if works == 1 else f"{works} works wait"
    facts = ", ".join(f"{NAMED[one.fact]} ({one.works})" for one in asked)
    trees = len({tree for one in asked for tree in one.trees})
    of = "1 tree" if trees == 1 else f"{trees} trees"
    yield from wrapped(f"{waiting} for what is not told of {of}: {facts}.", "", "  ")
    asks = f"  care-planner answer {folder}   asks for it, tree by tree"
    yield asks if len(asks) <= COLUMNS else asks.replace(folder, "FOLDER")
    yield ""


def unattended_lines(plan: Plan, collection: Collection, folder: str) -> Iterator[str]:
    """That nobody is there for some days while water is due; nothing where somebody always is."""
    absence = next_absence(plan.tasks, collection.people.is_away, plan.today)
    if absence is not None:
        yield from wrapped(absence_words(absence), "", "  ")
        command = f"  {away_command(absence, folder)}"
        yield command if len(command) <= COLUMNS else f"  {away_command(absence)}"
        yield "  prints the page for whoever does"
        yield ""
