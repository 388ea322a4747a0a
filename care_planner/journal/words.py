"""What a person says in one short text -> the keys of an entry.

Nothing is swallowed: what the plan does not use is kept as words, and said to be so. A mistyped keyword is
refused rather than kept, since it was meant to be used.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property

from care_planner.journal.keywords import (
    CONDITIONS,
    FREE,
    FREE_TEXT,
    KEYWORDS,
    WATERED,
    Said,
    keyed,
    watered_said,
)
from care_planner.journal.left import left_said
from care_planner.journal.model import NOT_YET
from care_planner.journal.shares import share_said
from care_planner.journal.speech import Meaning, Phrases, telling, word_set, words_of
from care_planner.typed_yaml.models import Mistake

FORMS = (
    'allowed: a stage such as first-flower, "open 40%", not-yet, "BBCH 60", "did RULE", repotted, '
    '"skipped RULE", "put-off RULE until 2027-06-01", "moved-to BENCH", "condition weak", watered, '
    '"weighed 4210 g", "low -2.5", "take-back ID", sold, dead, "not this weekend", or free text'
)
KEPT = "kept as words only; the plan does not use them"
# Words for work that are never free text; which rules they mean, a pack says under `noted_as`.
DONE_WORDS = frozenset({"repotted", "root-pruned", "pruned"})
_TWO_WORDS = re.compile(r"^(not yet|moved to|take back|put off)\b", re.IGNORECASE)
_LONGEST_PHRASE = 4  # words; a name spelt with spaces has no more
_NEAR_WORD, _NEAR_NAME = 0.75, 0.85  # likeness, 0 to 1, from which a text counts as mistyped
# Words after which a phrase says more of the same thing: "repotted into a bigger pot".
_GOES_ON = word_set(
    "on in into at with by after for from since and then as near to using under over again "
    "because while except although though lightly hard"
)
# Where one of these stands it may be a wish, a doubt or the very contrary.
_HEDGES = word_set(
    "not no never none should would could will shall must need needs want wants plan planned "
    "maybe perhaps soon next tomorrow later before if unless almost nearly todo try forgot "
    "remember without instead ask hardly barely"
)
_STRONG = frozenset({"strong", "healthy", "vigorous", "recovered"})
_WEAK = frozenset({"weak", "sick", "poorly", "weakened"})
_LOOKS = word_set("looks seems grows growing condition tree very now still rather")
_MOVED = word_set("moved put brought carried placed set stands standing stood back now went taken")
_TO = word_set("in into on onto under back to")
_SKIPPED = frozenset(["skip", "skipped", "skipping", "omitted"])
_DONE = frozenset(["did", "done", "finished", "completed", "gave"])
_SEEN = frozenset(["saw", "seen", "found", "noticed"])
_CLOSED = (
    *("still closed", "buds still closed", "still tight", "buds still tight", "still in bud", "nothing yet"),
    *("not open", "not open yet", "no flower yet", "no flowers yet", "no bloom yet", "no flower open"),
    *("no flowers open", "no flowers open yet"),
)
_THIS_TIME = word_set("this year season spring summer autumn fall winter time")


@dataclass(frozen=True)
class Known:
    """The names that mean something for the trees spoken of, and other words for them."""

    stages: frozenset[str]  # stages and signs
    rules: frozenset[str]
    works: frozenset[str]  # words that a rule is noted as, besides its id
    benches: frozenset[str]
    said_as: Mapping[str, Meaning] = field(default_factory=dict)  # phrases: titles, words of the trade

    @cached_property
    def phrases(self) -> Phrases:
        """All of them, by what they mean."""
        works = {*self.rules, *self.works, *DONE_WORDS}
        names = {id: Meaning("rule", id) for id in sorted(works)}
        return Phrases({**names, **{id: Meaning("stage", id) for id in sorted(self.stages)}}, self.said_as)


@dataclass(frozen=True)
class Heard:
    """The keys of an entry, apart from its date and trees, and what a person should be told of words kept."""

    said: Said
    told: str = ""


def parse_what(what: str, known: Known) -> Heard | Mistake:
    """What `what` says, or what is wrong with it."""
    text = _TWO_WORDS.sub(lambda found: found[0].replace(" ", "-").lower(), " ".join(what.split()))
    head, _, rest = text.partition(" ")
    head = head.lower()
    if not text:
        return Mistake("nothing is said", FORMS)
    if head.removesuffix(":") == FREE:
        return (
            Heard({"note": what.strip()[len(head) :].strip()})
            if rest
            else Mistake("the note is empty", FORMS)
        )
    if not text.isdecimal():  # a number alone is a BBCH code
        heard = _in_other_words(what.strip(), known)
        if heard is not None:
            return heard
    by_word = keyed(head, rest, text, known.benches)
    if by_word is not None:
        return by_word if isinstance(by_word, Mistake) else Heard(by_word)
    return _bare(what.strip(), text.lower(), known)


def _in_other_words(what: str, known: Known) -> Heard | None:
    """Titles, words of the trade, shares, moves, conditions; None where nothing is understood."""
    words = words_of(what)
    if "?" in what or not words:
        return None
    whole = _whole(words, known)
    if whole is not None:
        return Heard(whole)
    left = left_said(words)
    if left is not None:
        return Heard({"left": left[0], **({"note": what} if left[1] else {})})
    if not _HEDGES & set(words):
        watered = _watered_and_more(words)
        if watered is not None:
            told = f"understood as '{WATERED}'; the other words are {KEPT}"
            return Heard({**watered, "note": what}, told)
        found = known.phrases.begin(words)
        if found is not None and found[1] and found[1][0] in _GOES_ON:
            meaning, _ = found
            told = f"understood as '{meaning.id}'; the other words are {KEPT}"
            return Heard({**_said(meaning), "note": what}, told)
    return None


def _watered_and_more(words: list[str]) -> Said | None:
    """`watered with rain`, `gave it water in the evening`; `watered by timer` is a sign of its own."""
    for count in range(len(words) - 1, 0, -1):
        if words[count] in _GOES_ON - {"by"} and watered_said(words[:count]) is not None:
            return watered_said(words[:count])
    return None


def _whole(words: list[str], known: Known) -> Said | None:
    """What the text says where every word of it is understood."""
    watered = watered_said(words)
    if watered is not None:
        return watered
    find = known.phrases.find
    meaning = find(words)
    if meaning is not None:
        return _said(meaning)
    for reading in (_not_yet_said, _skipped_said, _done_said):
        said = reading(words, known.phrases)
        if said is not None:
            return said
    share = share_said(words)
    if share is not None:
        return {"saw": {"open": share}}
    return _condition_said(words) or _moved_said(words, known.benches)


def _said(meaning: Meaning) -> Said:
    return {"saw" if meaning.kind == "stage" else "did": meaning.id}


def _not_yet_said(words: list[str], phrases: Phrases) -> Said | None:
    """`no flowers yet`, `still closed`, `candles not out yet`."""
    if " ".join(words) in _CLOSED:
        return {"saw": NOT_YET}
    if "yet" not in words or not {"not", "no"} & set(words):
        return None
    rest = [word for word in words if word not in ("yet", "not", "no")]
    meaning = phrases.find(rest)
    return {"saw": {NOT_YET: meaning.id}} if meaning is not None and meaning.kind == "stage" else None


def _skipped_said(words: list[str], phrases: Phrases) -> Said | None:
    """`no repot this year`, `did not prune`, `candle cut skipped`."""
    if "yet" in words or not (_SKIPPED | {"not", "no"}) & set(words):
        return None
    aside = _SKIPPED | _THIS_TIME | {"not", "no", "do", "did", "done", "will"}
    meaning = phrases.find([word for word in words if word not in aside])
    return {"skipped": meaning.id} if meaning is not None and meaning.kind == "rule" else None


def _done_said(words: list[str], phrases: Phrases) -> Said | None:
    """`repot done`, `finished pruning`, `found root rot`."""
    for aside, kind in ((_DONE, "rule"), (_SEEN, "stage")):
        if aside & set(words):
            meaning = phrases.find([word for word in words if word not in aside])
            if meaning is not None and meaning.kind == kind:
                return _said(meaning)
    return None


def _condition_said(words: list[str]) -> Said | None:
    telling_words = [
        word for word in words if word not in _LOOKS and word not in ("is", "it", "again", "the")
    ]
    if len(telling_words) != 1:
        return None
    if telling_words[0] in _WEAK:
        return {"condition": "weak"}
    return {"condition": "strong"} if telling_words[0] in _STRONG else None


def _moved_said(words: list[str], benches: frozenset[str]) -> Said | None:
    """`moved to the shed`, `put in the shed`, `now in the shed`; benches in capitals or not."""
    if words[0] not in _MOVED | _TO:
        return None
    for bench in sorted(benches, key=len, reverse=True):
        name = words_of(bench)
        if name and words[-len(name) :] == name and not set(telling(words[1 : -len(name)])) - _TO:
            return {"moved_to": bench}
    return None


def _bare(what: str, text: str, known: Known) -> Heard | Mistake:
    """A mistyped word, or free text, which is kept and told."""
    name = text.replace(" ", "-")
    meant = next(_meant(text.split(), name, known), None)
    if meant is not None:
        return Mistake(f"'{what}' is not understood", f"did you mean {meant}? {FREE_TEXT}")
    if " " not in text:
        return Mistake(f"'{what}' is not understood", f"{FORMS}; a single word as {FREE_TEXT}")
    guess = _guess(words_of(what), known)
    return Heard({"note": what}, KEPT + (f"; did you mean {guess}?" if guess else ""))


def _guess(words: list[str], known: Known) -> str:
    """What a longer text speaks of, where some words in a row are known."""
    for count in range(min(len(words), known.phrases.longest + 2), 0, -1):
        for start in range(len(words) - count + 1):
            meaning = known.phrases.find(words[start : start + count])
            if meaning is not None:
                return meaning.id if meaning.kind == "stage" else f"did {meaning.id}"
    return ""


def _meant(words: list[str], name: str, known: Known) -> Iterator[str]:
    """What a text may have been meant to say, likeliest first; nothing where it is plainly free."""
    whole = {
        **{stage: stage for stage in known.stages},
        **{word: word for word in (*known.works, *DONE_WORDS)},
        **{rule: f"did {rule}" for rule in known.rules},
        **{bench: f"moved-to {bench}" for bench in known.benches},
        **{word: f"condition {word}" for word in CONDITIONS},
        **{word: word for word in KEYWORDS},
    }
    if len(words) <= _LONGEST_PHRASE:
        cutoff = _NEAR_WORD if len(words) == 1 else _NEAR_NAME
        yield from (whole[near] for near in _near(name, whole, cutoff))
    if len(words) <= 3 and (found := re.search(r"[0-9.]+ ?%", " ".join(words))):
        yield f"open {found[0]}"
    for first, rest in (("-".join(words[:2]), words[2:]), (words[0], words[1:])):
        if rest:
            yield from (f"{near} {' '.join(rest)}" for near in _near(first, KEYWORDS, _NEAR_WORD))
    if len(words) == 2:
        yield from (whole[near] for near in _near(words[1], whole, _NEAR_NAME))


def _near(word: str, names: Mapping[str, str] | tuple[str, ...], cutoff: float) -> list[str]:
    return get_close_matches(word, sorted(names), n=1, cutoff=cutoff)
