"""What a person says in one short text -> the keys of an entry.

A mistyped keyword must not end as free text that nothing reads: only text that is plainly none is free.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from care_planner.journal.model import NOT_YET
from care_planner.problems import did_you_mean
from care_planner.typed_yaml.models import Mistake

Said = Mapping[str, object]

FREE = "note"
FREE_TEXT = f"free text begins with: {FREE}"
FORMS = (
    'allowed: a stage such as first-flower, "open 40%", not-yet, "BBCH 60", "did RULE", repotted, '
    '"skipped RULE", "moved-to BENCH", "condition weak", watered, "weighed 4210 g", "take-back ID", '
    "or free text"
)
CONDITIONS = ("strong", "weak")
# Words for work that are never free text; which rules they mean, a pack says under `noted_as`.
DONE_WORDS = frozenset({"repotted", "root-pruned", "pruned"})
_ONE_NAME = {
    "did": ("did", "a rule's id"),
    "skipped": ("skipped", "a rule's id"),
    "moved-to": ("moved_to", "a bench"),
    "take-back": ("takes_back", "the id of an entry"),
}
WATERED, WEIGHED = "watered", "weighed"
_KEYWORDS = ("open", NOT_YET, "bbch", "condition", WATERED, WEIGHED, *_ONE_NAME)
_WEIGHT = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(g|kg)( watered)?")
_SHARE = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(%?)")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_LONGEST_PHRASE = 4  # words; a name spelt with spaces has no more
_NEAR_WORD, _NEAR_NAME = 0.75, 0.85  # likeness, 0 to 1, from which a text counts as mistyped


@dataclass(frozen=True)
class Known:
    """The names that mean something for the trees spoken of."""

    stages: frozenset[str]  # stages and signs
    rules: frozenset[str]
    works: frozenset[str]  # words that a rule is noted as, besides its id
    benches: frozenset[str]


def parse_what(what: str, known: Known) -> Said | Mistake:
    """The keys of the entry that `what` says, apart from its date and trees, or what is wrong with it."""
    text = re.sub(r"^(not yet|moved to|take back)\b", lambda found: found[0].replace(" ", "-").lower(),
                  " ".join(what.split()), flags=re.IGNORECASE)  # fmt: skip
    head, _, rest = text.partition(" ")
    head = head.lower()
    if not text:
        return Mistake("nothing is said", FORMS)
    if head.removesuffix(":") == FREE:
        return {"note": what.strip()[len(head) :].strip()} if rest else Mistake("the note is empty", FORMS)
    if head in _ONE_NAME:
        return _one_name(head, rest.lower())
    if head == "open":
        return _open(rest)
    if head == NOT_YET:
        return _not_yet(rest.lower())
    if head == "bbch" or text.isdecimal():
        return _bbch(rest if head == "bbch" else text)
    if head == "condition":
        return _condition(rest.lower())
    if head == WEIGHED:
        return _weighed(rest.lower())
    if text.lower() == WATERED:
        return {"watered": "yes"}
    return _bare(what.strip(), text.lower(), known)


def _one_name(keyword: str, name: str) -> Said | Mistake:
    key, allowed = _ONE_NAME[keyword]
    if not _NAME.fullmatch(name):
        shown = f"'{keyword} {name}'" if name else f"'{keyword}' of what?"
        return Mistake(f"{shown} does not name {allowed}" if name else shown, _needed(keyword, allowed))
    return {key: name}


def _needed(keyword: str, allowed: str) -> str:
    return f"allowed: {keyword} and {allowed}; {FREE_TEXT}"


def _open(rest: str) -> Said | Mistake:
    found = _SHARE.fullmatch(rest)
    if not found:
        return Mistake(
            f"'open {rest}'" if rest else "'open' how far?", _needed("open", "a share such as 40%")
        )
    share = round(float(found[1]) / (100 if found[2] else 1), 6)
    if share > 1:
        hint = (
            f"did you mean open {rest}%?"
            if not found[2] and float(found[1]) <= 100
            else "allowed: 0% to 100%"
        )
        return Mistake(f"'open {rest}' is more than all flowers", hint)
    return {"saw": {"open": share}}


def _not_yet(rest: str) -> Said | Mistake:
    if not rest:
        return {"saw": NOT_YET}
    name = rest.replace(" ", "-")
    return {"saw": {NOT_YET: name}} if _NAME.fullmatch(name) else Mistake(
        f"'{NOT_YET} {rest}' does not name a stage", _needed(NOT_YET, "a stage"))  # fmt: skip


def _bbch(code: str) -> Said | Mistake:
    if re.fullmatch(r"[0-9]{1,2}", code):
        return {"saw": code}
    return Mistake(f"'{code}' is no BBCH code", "allowed: 0 to 99")


def _weighed(rest: str) -> Said | Mistake:
    found = _WEIGHT.fullmatch(rest)
    if not found:
        return Mistake(
            f"'{WEIGHED} {rest}'" if rest else f"'{WEIGHED}' how much?",
            _needed(
                WEIGHED, "grams or kilograms, such as 4210 g, with watered behind if it was just watered"
            ),
        )
    grams = round(float(found[1]) * (1000 if found[2] == "kg" else 1), 3)
    return {"weighed_g": f"{grams:.10g}", **({"watered": "yes"} if found[3] else {})}


def _condition(rest: str) -> Said | Mistake:
    if rest in CONDITIONS:
        return {"condition": rest}
    return Mistake(f"condition is '{rest}'", did_you_mean(rest, CONDITIONS))


def _bare(what: str, text: str, known: Known) -> Said | Mistake:
    """A stage, a word for work, or free text."""
    name = text.replace(" ", "-")
    if name in known.stages:
        return {"saw": name}
    if name in known.works or name in DONE_WORDS:
        return {"did": name}
    meant = next(_meant(text.split(), name, known), None)
    if meant is not None:
        return Mistake(f"'{what}' is not understood", f"did you mean {meant}? {FREE_TEXT}")
    if " " not in text:
        return Mistake(f"'{what}' is not understood", f"{FORMS}; a single word as {FREE_TEXT}")
    return {"note": what}


def _meant(words: list[str], name: str, known: Known) -> Iterator[str]:
    """What a text may have been meant to say, likeliest first; nothing where it is plainly free."""
    whole = {
        **{stage: stage for stage in known.stages},
        **{word: word for word in (*known.works, *DONE_WORDS)},
        **{rule: f"did {rule}" for rule in known.rules},
        **{bench: f"moved-to {bench}" for bench in known.benches},
        **{word: f"condition {word}" for word in CONDITIONS},
        **{word: word for word in _KEYWORDS},
    }
    if len(words) <= _LONGEST_PHRASE:
        cutoff = _NEAR_WORD if len(words) == 1 else _NEAR_NAME
        yield from (whole[near] for near in _near(name, whole, cutoff))
    if len(words) <= 3 and (found := re.search(r"[0-9.]+ ?%", " ".join(words))):
        yield f"open {found[0]}"
    for first, rest in (("-".join(words[:2]), words[2:]), (words[0], words[1:])):
        if rest:
            yield from (f"{near} {' '.join(rest)}" for near in _near(first, _KEYWORDS, _NEAR_WORD))
    if len(words) == 2:
        yield from (whole[near] for near in _near(words[1], whole, _NEAR_NAME))


def _near(word: str, names: Mapping[str, str] | tuple[str, ...], cutoff: float) -> list[str]:
    return get_close_matches(word, sorted(names), n=1, cutoff=cutoff)
