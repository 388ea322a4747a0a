"""A journal entry in words."""

from care_planner.calendar.text import one_line
from care_planner.journal.model import Entry, Saw
from care_planner.rulebook.pack import TaxonRules


def entry_words(entry: Entry, rules: TaxonRules) -> str:
    """`Saw: First flower`, `Done: Repot (in new soil)`."""
    said = _said(entry, rules)
    note = one_line(entry.note)
    if said and note:
        return f"{said} ({note})"
    return said or note


def _said(entry: Entry, rules: TaxonRules) -> str:
    if entry.saw is not None:
        return _seen(entry.saw, rules)
    for label, word in (("Done", entry.did), ("Not needed", entry.skipped)):
        if word:
            return f"{label}: {_title(word, rules)}"
    if entry.moved_to:
        return f"Moved to {entry.moved_to}"
    if entry.condition:
        return f"Condition: {entry.condition}"
    aside = [
        f"Weighed: {entry.weighed_g:g} g" if entry.weighed_g is not None else "",
        "Watered" if entry.watered else "",
        f"Low of the night: {entry.low_c:g} degC" if entry.low_c is not None else "",
    ]
    return ", ".join(filter(None, aside))


def _title(word: str, rules: TaxonRules) -> str:
    rule = rules.rules.get(word)
    return rule.title if rule is not None else word


def _seen(saw: Saw, rules: TaxonRules) -> str:
    stage = rules.stages.get(saw.stage)
    name = stage.title if stage is not None else saw.stage
    if saw.not_yet:
        return f"Not yet: {name}" if name else "Not yet"
    if saw.share_open is not None:
        return f"Saw: {saw.share_open:.0%} open"
    return f"Saw: BBCH {saw.bbch}" if saw.bbch is not None else f"Saw: {name}"
