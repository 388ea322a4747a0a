"""A form sent from a page -> trees and words to note, or what is wrong with it."""

import re
from collections.abc import Collection as Some
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from care_planner.calendar.text import one_line
from care_planner.folder.read_folder import Inputs
from care_planner.journal.days_off import days_off_said
from care_planner.journal.keywords import CONDITIONS, FREE
from care_planner.journal.words import Heard, parse_what
from care_planner.note.known import known_names
from care_planner.problems import did_you_mean
from care_planner.serve.branch_form import OF_BRANCH, branch_target, branch_words
from care_planner.serve.entry_words import sign_words, span_words
from care_planner.serve.note_parts import Fields, NoteForm, NotePart, Words, Wrong, numbered, one_of
from care_planner.spans import monday_of
from care_planner.words.days import weekday_words
from care_planner.words.names import bench_words

LONGEST_WORDS = 300
OLDEST_NOTE_DAYS = 400
MOST_PARTS = 60
LEFT_WORDS = {"sold": "sold", "given-away": "given away", "lent": "lent", "dead": "dead"}
_PERCENT = re.compile(r"\d{1,3}", re.ASCII)
_COUNT = re.compile(r"\d{1,6}", re.ASCII)
_WITH_VALUE = ("open", "condition", "left", "sign")  # what stands behind these is no tree
_PRESS = "Press one of the buttons."

_LABELS = {"did": "done", "skipped": "not done", "saw": "seen", "not-yet": "not yet"}
_NO_TIME = {"today": "not today", "weekend": "not this weekend", "next-weekend": "not next weekend"}
TAKE_BACK = "take-back"
NOTHING = "nothing"  # what Enter presses in a field that belongs to several buttons


def parse_note(
    fields: Fields, inputs: Inputs, allowed: Some[str], entries: Mapping[str, str], today: date, id: str
) -> NoteForm | Wrong:
    """Read a form. `allowed` are the trees its link shows, `entries` what it may take back (id to words);
    days are those of the collection's time zone; `id` names the first entry, others get names made from it.
    """
    act, _, one = one_of(fields, "act").partition(" ")
    if act == TAKE_BACK:
        return _take_back(one_of(fields, "entry"), entries, today, id)
    on = _day(one_of(fields, "on") or one_of(fields, "tapped"), today)
    if on is None:
        return Wrong(f"The day must be a date up to today, {today.isoformat()}.")
    sure = one_of(fields, "sure") == "yes"
    if act == "walk":
        items = fields.get("every" if one == "all" else "item", ())
        return _walk(items, inputs, allowed, on, sure, id)
    if act == "days-off":
        return _days_off(one, inputs, allowed, on, id)
    trees = _trees(fields, "" if act in _WITH_VALUE else one, allowed)
    if not trees:
        return Wrong("No tree was ticked. Tick the trees it is about.")
    found = _what(act, one, fields, inputs, trees, on)
    if isinstance(found, Wrong):
        return found
    if found and act in OF_BRANCH:
        trees = (branch_target(act, fields, trees[0]),)
    words = one_line(one_of(fields, "words"), LONGEST_WORDS)
    # The keyword keeps free words free, whatever they begin with; words that are understood need none.
    free = f"note {words}" if found or not _is_understood(words, inputs, trees) else words
    said = [*([found] if found else []), *([(free, f"“{words}”")] if words else [])]
    if not said:
        return Wrong("Nothing was said. Write a few words first.")
    verb = "noted on " if act == "put-off" else ""
    parts = [NotePart(trees, what, named, numbered(id, n), verb) for n, (what, named) in enumerate(said)]
    return NoteForm(tuple(parts), on, sure)


def _is_understood(words: str, inputs: Inputs, trees: Sequence[str]) -> bool:
    """Whether free words say something that the plan uses: `many fat buds`, `dead-headed`."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    every = inputs.rulebook.taxa
    known = known_names([every[taxon] for taxon in taxa], inputs.collection.benches, every.values())
    heard = parse_what(words, known) if words else None
    return isinstance(heard, Heard) and set(heard.said) != {FREE} and "takes_back" not in heard.said


def _trees(fields: Fields, one: str, allowed: Some[str]) -> tuple[str, ...]:
    """The trees that a form is about: those of the button, those ticked, or all that it lists."""
    wanted: Iterable[str] = fields.get("of", ()) if one == "all" else [one] if one else fields.get("tree", ())
    return tuple(sorted(set(wanted) & set(allowed)))


def _walk(
    items: Sequence[str], inputs: Inputs, allowed: Some[str], on: date, sure: bool, id: str
) -> NoteForm | Wrong:
    """The ticked items of a bench walk, `RULE/TREE,TREE`: one entry for each."""
    parts = []
    for n, item in enumerate(items[:MOST_PARTS]):
        rule, _, listed = item.partition("/")
        trees = tuple(sorted(set(listed.split(",")) & set(allowed)))
        titles = _titles(inputs, trees, "rules")
        if not trees or rule not in titles:
            return Wrong(f"Unknown item '{one_line(item, 60)}'. Open the page again.")
        parts.append(NotePart(trees, f"did {rule}", f"{titles[rule]}, done", numbered(id, n)))
    return NoteForm(tuple(parts), on, sure) if parts else Wrong("Nothing was ticked. Tick what was done.")


def _days_off(which: str, inputs: Inputs, allowed: Some[str], on: date, id: str) -> NoteForm | Wrong:
    """Nobody works on some days, on any of the trees that the link shows."""
    words = _NO_TIME.get(which, "")
    span = days_off_said(words, on)
    if span is None:
        return Wrong(_PRESS)
    here = {tree.id for tree in inputs.collection.trees if tree.until is None or tree.until.date > on}
    everything = here <= set(allowed)
    trees = ("all",) if everything else tuple(sorted(here & set(allowed)))
    who = "The whole garden" if everything else ""
    said = f"no work {span_words(*(day.toordinal() for day in span))}"
    return NoteForm((NotePart(trees, words, said, id, "noted on ", who),), on, False)


def _take_back(entry: str, entries: Mapping[str, str], today: date, id: str) -> NoteForm | Wrong:
    if entry not in entries:
        return Wrong("That note can no longer be taken back here. Take it back in the journal.")
    part = NotePart(("all",), f"{TAKE_BACK} {entry}", entries[entry], id)
    return NoteForm((part,), today, False, takes_back=entry)


def _day(text: str, today: date) -> date | None:
    try:
        day = date.fromisoformat(text) if text else today
    except ValueError:
        return None
    return day if today - timedelta(days=OLDEST_NOTE_DAYS) <= day <= today else None


def _what(
    act: str, one: str, fields: Fields, inputs: Inputs, trees: Sequence[str], on: date
) -> Words | Wrong | None:
    """The words for the note command, and for people; None for free words alone."""
    if act == "words":
        return None
    if act == "open":
        return _open(one or one_of(fields, "open"))
    if act == "condition":
        return (f"condition {one}", f"{one} from now on") if one in CONDITIONS else Wrong(_PRESS)
    if act == "moved":
        return _moved(one_of(fields, "bench"), inputs)
    if act in OF_BRANCH:
        return branch_words(act, fields, inputs, trees[0])
    if act == "left":
        return (LEFT_WORDS[one],) * 2 if one in LEFT_WORDS else Wrong(_PRESS)
    if act == "sign":
        return (one, f"{sign_words(one)}, seen") if one in _signs(inputs, trees) else Wrong(_PRESS)
    if act == "put-off":
        return _put_off(one_of(fields, "rule"), _titles(inputs, trees, "rules"), on)
    if act == "did" and (plants := one_of(fields, "plants")) and len(trees) == 1:
        return _done_on(plants, one_of(fields, "rule"), _titles(inputs, trees, "rules"), inputs, trees[0])
    if act in ("did", "skipped"):
        return _of_list(act, act, one_of(fields, "rule"), _titles(inputs, trees, "rules"), "work")
    if act in ("saw", "not-yet"):
        word = "" if act == "saw" else act
        titles = _titles(inputs, trees, "stages") | (_signs(inputs, trees) if act == "saw" else {})
        return _of_list(act, word, one_of(fields, "stage"), titles, "stage")
    return Wrong(_PRESS)


def _moved(bench: str, inputs: Inputs) -> Words | Wrong:
    if not bench:
        return Wrong("No bench was chosen. Choose one from the list.")
    if bench not in inputs.collection.benches:
        return Wrong(
            f"Unknown bench '{one_line(bench, 60)}'; {did_you_mean(bench, inputs.collection.benches)}"
        )
    return f"moved-to {bench}", f"moved to {bench_words(bench)}"


def _put_off(id: str, titles: Mapping[str, str], on: date) -> Words | Wrong:
    """Not this weekend: work waits until the Monday after it."""
    found = _of_list("skipped", "", id, titles, "work")
    if isinstance(found, Wrong):
        return found
    until = date.fromordinal(monday_of(on.toordinal()) + 7)
    return f"put-off {id} until {until}", f"{titles[id]}, put off until {weekday_words(until.toordinal())}"


def _done_on(plants: str, id: str, titles: Mapping[str, str], inputs: Inputs, tree: str) -> Words | Wrong:
    """Work done on some plants of a tray, on so many by now; on all of them it is done."""
    all_of = next(one.count for one in inputs.collection.trees if one.id == tree)
    found = _of_list("did", "did", id, titles, "work")
    if isinstance(found, Wrong):
        return found
    if not _COUNT.fullmatch(plants) or not 1 <= int(plants) <= all_of:
        return Wrong(f"How many it is done on must be a number from 1 to {all_of}.")
    if int(plants) == all_of:
        return found
    return f"did {id} on {int(plants)}", f"{titles[id]}, done on {int(plants)} of {all_of} so far"


def _signs(inputs: Inputs, trees: Sequence[str]) -> dict[str, str]:
    """Signs that the trees' taxa know, in plain words."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    return {id: sign_words(id) for taxon in sorted(taxa) for id in sorted(inputs.rulebook.taxa[taxon].signs)}


def _open(percent: str) -> Words | Wrong:
    if not _PERCENT.fullmatch(percent) or int(percent) > 100:
        return Wrong("The share open must be a number from 0 to 100.")
    return f"open {percent}%", f"{int(percent)} % of the flowers open"


def _of_list(act: str, word: str, id: str, titles: Mapping[str, str], kind: str) -> Words | Wrong:
    if not id:
        return Wrong(f"No {kind} was chosen. Choose one from the list.")
    if id not in titles:
        return Wrong(f"Unknown {kind} '{one_line(id, 60)}'; {did_you_mean(id, titles)}")
    return f"{word} {id}".strip(), f"{titles[id]}, {_LABELS[act]}"


def _titles(inputs: Inputs, trees: Sequence[str], part: str) -> dict[str, str]:
    """Titles by id of the rules or stages of the trees' taxa."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    return {
        id: one.title
        for taxon in sorted(taxa)
        for id, one in getattr(inputs.rulebook.taxa[taxon], part).items()
    }
