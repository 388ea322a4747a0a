"""Forms about one branch, or a batch of cuttings -> words for the note command, and for people."""

import re

from care_planner.calendar.text import one_line
from care_planner.folder.read_folder import Inputs
from care_planner.serve.note_parts import Fields, Words, Wrong, one_of

OF_BRANCH = ("flowers", "grows", "lost", "batch", "cuttings")
YOUNG = {
    "rooted": "rooted",
    "potted": "potted on",
    "kept": "kept",
    "given-away": "given away",
    "dead": "dead",
}
_COUNT = re.compile(r"\d{1,5}", re.ASCII)
_SLUG = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")


def is_tag(text: str) -> bool:
    """Whether a text can be the name of a branch or a batch."""
    return _SLUG.fullmatch(text) is not None


def branch_target(act: str, fields: Fields, tree: str) -> str:
    """Whom the note command is told: the tree, its branch, or its batch."""
    part = one_of(fields, "batch" if act == "batch" else "branch")
    return f"{tree}/{part}" if part else tree


def branch_words(act: str, fields: Fields, inputs: Inputs, tree: str) -> Words | Wrong:
    """Flowers by form on a branch or the whole tree, a new branch, one that is gone, cuttings."""
    branch = one_of(fields, "branch")
    if branch and not _SLUG.fullmatch(branch):
        return Wrong(f"A tag is a name of a-z, 0-9 and hyphens, not '{one_line(branch, 60)}'.")
    if act == "lost":
        return ("cut", f"branch {branch} is cut off") if branch else Wrong("Which branch?")
    if act == "grows":
        return _grows(branch, one_of(fields, "from"))
    if act in ("batch", "cuttings"):
        return _cuttings(act, branch, fields)
    return _flowers(branch, fields, inputs, tree)


def _grows(branch: str, source: str) -> Words | Wrong:
    if not branch or not _SLUG.fullmatch(source):
        return Wrong("Write the new branch's tag, and choose where it grows from.")
    return f"grows from {source}", f"new branch {branch}, from {source}"


def _cuttings(act: str, branch: str, fields: Fields) -> Words | Wrong:
    batch, plants, young = (one_of(fields, name) for name in ("batch", "plants", "young"))
    if not _SLUG.fullmatch(batch):
        return Wrong("Write the batch's label: a name of a-z, 0-9 and hyphens.")
    if not _COUNT.fullmatch(plants):
        return Wrong("How many must be a number.")
    if act == "cuttings":
        of = f" of {branch}" if branch else ""
        return f"cuttings {batch} {int(plants)}", f"{int(plants)} cuttings{of} taken, batch {batch}"
    if young not in YOUNG:
        return Wrong("Choose what became of them.")
    return f"{young} {int(plants)}", f"batch {batch}: {int(plants)} {YOUNG[young]}"


def _flowers(branch: str, fields: Fields, inputs: Inputs, tree: str) -> Words | Wrong:
    taxon = next(one.taxon for one in inputs.collection.trees if one.id == tree)
    forms = inputs.rulebook.taxa[taxon].forms
    counted = []
    for form in forms.ladder if forms is not None else ():
        count = one_of(fields, f"form-{form.id}") or "0"
        if not _COUNT.fullmatch(count):
            return Wrong(f"How many flowers of {form.title.lower()} must be a number.")
        if int(count):
            counted.append((form, int(count)))
    if not counted:
        return Wrong("No flowers were counted. Count at least one form.")
    sun = " in full sun" if one_of(fields, "full_sun") == "yes" else ""
    what = ", ".join(f"{form.id.replace('-', ' ')} {count}" for form, count in counted)
    said = ", ".join(f"{form.title.lower()} {count}" for form, count in counted)
    return f"flowers {what}{sun}", f"{branch or 'whole tree'}: {said}{sun}"
