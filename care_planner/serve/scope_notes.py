"""Whether a form says only what its link is for."""

from collections.abc import Mapping

from care_planner.folder.read_folder import Inputs
from care_planner.serve.note_parts import NoteForm, NotePart, Wrong
from care_planner.serve.scope import LOOK, Scope

_OF_WORK = ("did", "skipped", "put-off")
_OF_LOOK = ("open", "not-yet")


def within_scope(form: NoteForm | Wrong, scope: Scope, inputs: Inputs) -> NoteForm | Wrong:
    """The form, or that its link is not for it.

    A link for a kind of work notes that work alone, done or not done, and free words; a link for what is
    to be looked at notes what was seen, and free words. Other links note anything on their trees.
    """
    if isinstance(form, Wrong) or scope.kind != "work" or form.takes_back:
        return form
    taxa = {tree.id: tree.taxon for tree in inputs.collection.trees}
    for part in form.parts:
        if not _is_of(part, scope.value, taxa, inputs):
            return Wrong(f"This link is for {scope.words()} only. Ask whoever gave it to you.")
    return form


def _is_of(part: NotePart, kind: str, taxa: Mapping[str, str], inputs: Inputs) -> bool:
    word, _, rest = part.what.partition(" ")
    if word == "note":
        return True
    of = [inputs.rulebook.taxa[taxa[tree]] for tree in part.trees if tree in taxa]
    if word not in _OF_WORK:
        seen = word in _OF_LOOK or any(word in rules.stages or word in rules.signs for rules in of)
        return kind == LOOK and seen
    rules = [one.rules.get(rest.partition(" ")[0]) for one in of]
    found = [rule for rule in rules if rule is not None]
    return bool(found) and all(rule.kind == kind for rule in found)
