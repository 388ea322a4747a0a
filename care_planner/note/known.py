"""What words mean for the trees spoken of, and where the trees end and the words begin. Pure."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from care_planner.collection.model import Collection
from care_planner.journal.keywords import FREE_TEXT
from care_planner.journal.speech import Meaning
from care_planner.journal.words import Heard, Known, parse_what
from care_planner.note.trees import ALL
from care_planner.rulebook.pack import TaxonRules
from care_planner.typed_yaml.models import Mistake

MOST_LIKE = 6
_LIKE_A_TREE = 0.75  # likeness, 0 to 1, from which a word was meant as a tree's id


def known_names(
    taxa: Iterable[TaxonRules], benches: Iterable[str], every: Iterable[TaxonRules] = ()
) -> Known:
    """The names and phrases of these taxa. Of two meanings of one phrase a stage comes before a work.

    Words that the pack of another of `every` taxon gives a work hold for the same work of these.
    """
    taxa = sorted(taxa, key=lambda rules: rules.id)
    stages = {id for rules in taxa for id in (*rules.stages, *rules.signs)}
    said_as: dict[str, Meaning] = {}
    for rules in taxa:
        for id, phrases in rules.said_as.items():
            kind = "stage" if id in stages else "rule"
            for phrase in phrases:
                said_as.setdefault(phrase, Meaning(kind, id))
        for stage in rules.stages.values():
            said_as.setdefault(stage.title, Meaning("stage", stage.id))
        for rule in rules.rules.values():
            for title in (
                rule.title,
                rule.title.split(",")[0],
                *(case.title for case in rule.cases if case.title),
            ):
                said_as.setdefault(title, Meaning("rule", rule.id))
    works = {id for rules in taxa for id in rules.rules}
    for rules in sorted(every, key=lambda rules: rules.id):
        for id, phrases in rules.said_as.items():
            if id in works:
                for phrase in phrases:
                    said_as.setdefault(phrase, Meaning("rule", id))
    return Known(
        stages=frozenset(stages),
        rules=frozenset(works),
        works=frozenset(word for rules in taxa for rule in rules.rules.values() for word in rule.noted_as),
        benches=frozenset(benches),
        said_as=said_as,
    )


def work_of_others(
    words: str, taxa: Iterable[TaxonRules], every: Iterable[TaxonRules], known: Known
) -> Mistake | None:
    """What to say of words for a work that only trees of other kinds have: the works of these taxa that are
    likest it, in the words that note them. None where the words are no such work."""
    every = list(every)
    if isinstance(parse_what(words, known), Heard):
        return None
    heard = parse_what(words, known_names(every, known.benches))
    meant = heard.said.get("did") if isinstance(heard, Heard) else None
    kinds = {rules.rules[str(meant)].kind for rules in every if meant in rules.rules}
    own = {rule.id: rule for rules in taxa for rule in rules.rules.values() if rule.kind in kinds}
    if not own:
        return None
    likest = [f'"did {rule.id}" ({rule.title})' for rule in own.values() if rule.way in ("work", "walk")]
    what = f"'{words}' is no work of this kind of tree"
    return Mistake(what, f"its works that are likest: {', '.join(likest[:MOST_LIKE])}; {FREE_TEXT}")


def trees_and_words(words: Sequence[str], collection: Collection) -> tuple[tuple[str, ...], str]:
    """The trees named first, and what is said of them: one quoted text, or all words after the trees."""
    if len(words) < 2 or " " in words[-1].strip():
        return tuple(words[:-1]), words[-1] if words else ""
    ids = [tree.id for tree in collection.trees]
    count = 1
    while count < len(words) - 1 and _names_a_tree(words[count], ids):
        count += 1
    return tuple(words[:count]), " ".join(words[count:])


def _names_a_tree(word: str, ids: list[str]) -> bool:
    name = word.partition("/")[0]
    if name in ids or word == ALL or word.partition(":")[0] in ("taxon", "bench"):
        return True
    # A slip in an id must not make it part of what is said.
    return any(mark.isdigit() for mark in word) and bool(
        get_close_matches(name, ids, n=1, cutoff=_LIKE_A_TREE)
    )
