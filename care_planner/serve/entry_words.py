"""A journal entry in words."""

from collections.abc import Iterator

from care_planner.calendar.text import one_line
from care_planner.journal.branch_notes import BranchNote
from care_planner.journal.model import Entry, Saw
from care_planner.rulebook.pack import TaxonRules
from care_planner.words.days import weekday_words

_LEFT = {"sold": "Sold", "given-away": "Given away", "lent": "Lent", "dead": "Dead"}


def entry_words(entry: Entry, rules: TaxonRules) -> str:
    """`Saw: First flower`, `Done: Repot (in new soil)`."""
    said = _said(entry, rules)
    note = one_line(entry.note)
    if said and note:
        return f"{said} ({note})"
    return said or note


def sign_words(id: str) -> str:
    """A sign's id as words: `leaf-galls` is `Leaf galls`, `buds-few` is `Fat flower buds: few`."""
    kind, _, many = id.partition("-")
    return f"Fat flower buds: {many}" if kind == "buds" else id.replace("-", " ").capitalize()


def _said(entry: Entry, rules: TaxonRules) -> str:
    if entry.saw is not None:
        return _seen(entry.saw, rules)
    if entry.put_off:
        return f"Put off until {weekday_words(entry.until)}: {_title(entry.put_off, rules)}"
    for label, word in (("Done", entry.did), ("Not done", entry.skipped)):
        if word:
            part = f", on {entry.plants} so far" if entry.plants else ""
            return f"{label}: {_title(word, rules)}{part}"
    if entry.days_off:
        return f"No work {span_words(*entry.days_off)}"
    if entry.moved_to:
        return f"Moved to {entry.moved_to}"
    if entry.left:
        return _LEFT[entry.left]
    if entry.branch is not None:
        return "; ".join(_of_branch(entry.branch, rules))
    return f"Condition: {entry.condition}" if entry.condition else _aside(entry)


def span_words(first: int, last: int) -> str:
    """`on Sat 29 May`, `from Sat 29 May to Sun 30 May`."""
    if first == last:
        return f"on {weekday_words(first)}"
    return f"from {weekday_words(first)} to {weekday_words(last)}"


def _aside(entry: Entry) -> str:
    """What moves no date: water and weights, the low of a night."""
    said = [
        f"Weighed: {entry.weighed_g:g} g" if entry.weighed_g is not None else "",
        "Watered" if entry.watered else "",
        f"Low of the night: {entry.low_c:g} degC" if entry.low_c is not None else "",
    ]
    return ", ".join(filter(None, said))


def _of_branch(note: BranchNote, rules: TaxonRules) -> Iterator[str]:
    """`left-1: white ground 12, striped 3 in full sun`, `batch-7: 9 rooted`."""
    of = note.branch or "Whole tree"
    if note.flowers:
        counts = dict(note.flowers)
        order = [form.id for form in rules.forms.ladder] if rules.forms is not None else []
        named = sorted(counts, key=lambda word: (order.index(word) if word in order else len(order), word))
        sun = " in full sun" if note.full_sun else ""
        yield f"{of}: {', '.join(f'{_form(word, rules)} {counts[word]}' for word in named)}{sun}"
    if note.grows_from:
        yield f"New branch {of}, from {note.grows_from}"
    if note.lost:
        yield f"Branch {of} is {'cut off' if note.lost == 'cut' else 'dead'}"
    if note.taken:
        yield f"{note.taken} cuttings of {of}, batch {note.batch}"
    elif note.young:
        number = f"plant {note.plant}" if note.plant else "all" if note.count is None else str(note.count)
        yield f"Batch {note.batch}: {number} {note.young.replace('-', ' ')}"
    if note.photo and not note.flowers:
        yield f"{of}: a photograph"


def _form(word: str, rules: TaxonRules) -> str:
    rung = rules.forms.index(word) if rules.forms is not None else None
    return word if rung is None or rules.forms is None else rules.forms.ladder[rung].title.lower()


def _title(word: str, rules: TaxonRules) -> str:
    rule = rules.rules.get(word)
    return rule.title if rule is not None else word


def _seen(saw: Saw, rules: TaxonRules) -> str:
    stage = rules.stages.get(saw.stage)
    name = stage.title if stage is not None else sign_words(saw.stage)
    if saw.not_yet:
        return f"Not yet: {name}" if name else "Not yet"
    if saw.share_open is not None:
        return f"Saw: {saw.share_open:.0%} open"
    return f"Saw: BBCH {saw.bbch}" if saw.bbch is not None else f"Saw: {name}"
