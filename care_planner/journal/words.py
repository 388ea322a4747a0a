"""What a person says in one short text -> the keys of an entry.

Nothing is swallowed: what the plan does not use is kept as words, and said to be so. A mistyped keyword is
refused rather than kept, since it was meant to be used.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property

from care_planner.journal.left import left_said
from care_planner.journal.model import NOT_YET
from care_planner.journal.shares import share_said
from care_planner.journal.speech import Meaning, Phrases, telling, word_set, words_of
from care_planner.problems import did_you_mean
from care_planner.typed_yaml.models import Mistake

Said = Mapping[str, object]

FREE = "note"
FREE_TEXT = f"free text begins with: {FREE}"
FORMS = (
    'allowed: a stage such as first-flower, "open 40%", not-yet, "BBCH 60", "did RULE", repotted, '
    '"skipped RULE", "put-off RULE until 2027-06-01", "moved-to BENCH", "condition weak", watered, '
    '"weighed 4210 g", "low -2.5", "take-back ID", sold, dead, or free text'
)
KEPT = "kept as words only; the plan does not use them"
CONDITIONS = ("strong", "weak")
# Words for work that are never free text; which rules they mean, a pack says under `noted_as`.
DONE_WORDS = frozenset({"repotted", "root-pruned", "pruned"})
PUT_OFF = "put-off"
_TWO_WORDS = re.compile(r"^(not yet|moved to|take back|put off)\b", re.IGNORECASE)
_UNTIL = re.compile(r"([a-z0-9][a-z0-9-]{0,63}) until ([0-9]{4}-[0-9]{2}-[0-9]{2})")
_PART = re.compile(r"([a-z0-9][a-z0-9-]{0,63}) on ([0-9]{1,6})(?: of [0-9]{1,6})?")
_ONE_NAME = {
    "did": ("did", "a rule's id"),
    "skipped": ("skipped", "a rule's id"),
    "moved-to": ("moved_to", "a bench"),
    "take-back": ("takes_back", "the id of an entry"),
}
WATERED, WEIGHED, LOW = "watered", "weighed", "low"
_KEYWORDS = ("open", NOT_YET, "bbch", "condition", WATERED, WEIGHED, PUT_OFF, *_ONE_NAME)
_WEIGHT = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(g|kg)( watered)?")
_DEGREES = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)(?: ?(?:degc|c|°c))?")
_SHARE = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(%?)")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
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
    keyed = _keyed(head, rest, text, known)
    if keyed is not None:
        return keyed if isinstance(keyed, Mistake) else Heard(keyed)
    return _bare(what.strip(), text.lower(), known)


def _keyed(head: str, rest: str, text: str, known: Known) -> Said | Mistake | None:
    """Texts that begin with a keyword."""
    if head == "moved-to" and rest:
        # Benches have any name; in capitals or not it is the same one.
        return {"moved_to": next((one for one in known.benches if one.casefold() == rest.casefold()), rest)}
    if head == "did" and (part := _PART.fullmatch(rest.lower())):
        return {"did": part[1], "count": int(part[2])}
    if head == PUT_OFF:
        return _put_off(rest.lower())
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
    if head == LOW and rest and rest[0] in "-0123456789":
        return _low(rest.lower())
    if text.lower() == WATERED:
        return {"watered": "yes"}
    return None


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
        found = known.phrases.begin(words)
        if found is not None and found[1] and found[1][0] in _GOES_ON:
            meaning, _ = found
            told = f"understood as '{meaning.id}'; the other words are {KEPT}"
            return Heard({**_said(meaning), "note": what}, told)
    return None


def _whole(words: list[str], known: Known) -> Said | None:
    """What the text says where every word of it is understood."""
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


def _one_name(keyword: str, name: str) -> Said | Mistake:
    key, allowed = _ONE_NAME[keyword]
    if not _NAME.fullmatch(name):
        shown = f"'{keyword} {name}'" if name else f"'{keyword}' of what?"
        return Mistake(f"{shown} does not name {allowed}" if name else shown, _needed(keyword, allowed))
    return {key: name}


def _put_off(rest: str) -> Said | Mistake:
    found = _UNTIL.fullmatch(rest)
    if found is None:
        shown = f"'{PUT_OFF} {rest}'" if rest else f"'{PUT_OFF}' of what?"
        return Mistake(shown, f"allowed: {PUT_OFF}, a rule's id, until and a day as 2027-06-01; {FREE_TEXT}")
    return {"put_off": found[1], "until": found[2]}


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


def _low(rest: str) -> Said | Mistake:
    found = _DEGREES.fullmatch(rest)
    if not found:
        return Mistake(f"'{LOW} {rest}' is no temperature", "allowed: low and degC, such as low -2.5")
    return {"low_c": found[1]}


def _condition(rest: str) -> Said | Mistake:
    if rest in CONDITIONS:
        return {"condition": rest}
    return Mistake(f"condition is '{rest}'", did_you_mean(rest, CONDITIONS))


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
