"""Notes that begin with a keyword, such as "open 40%" or "did RULE" -> the keys of an entry."""

import re
from collections.abc import Mapping, Sequence

from care_planner.journal.model import NOT_YET
from care_planner.journal.speech import SMALL_WORDS
from care_planner.problems import did_you_mean
from care_planner.typed_yaml.models import Mistake

Said = Mapping[str, object]

FREE = "note"
FREE_TEXT = f"free text begins with: {FREE}"
CONDITIONS = ("strong", "weak")
PUT_OFF = "put-off"
_UNTIL = re.compile(r"([a-z0-9][a-z0-9-]{0,63}) until ([0-9]{4}-[0-9]{2}-[0-9]{2})")
_PART = re.compile(r"([a-z0-9][a-z0-9-]{0,63}) on ([0-9]{1,6})(?: of [0-9]{1,6})?")
_ONE_NAME = {
    "did": ("did", "a rule's id"),
    "skipped": ("skipped", "a rule's id"),
    "moved-to": ("moved_to", "a bench"),
    "take-back": ("takes_back", "the id of an entry"),
}
WATERED, WEIGHED, LOW = "watered", "weighed", "low"
KEYWORDS = ("open", NOT_YET, "bbch", "condition", WATERED, WEIGHED, PUT_OFF, *_ONE_NAME)
_WEIGHT = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(g|kg)( watered)?")
_DEGREES = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)(?: ?(?:degc|c|°c))?")
# What people say once the can is empty. With more words (by timer, not, if) it is something else.
_WATERED = frozenset(
    {"watered", "gave water", "given water", "water given", "watered well", "watered through", "got water"}
)
_SHARE = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(%?)")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")


def keyed(head: str, rest: str, text: str, benches: frozenset[str]) -> Said | Mistake | None:
    """What a `text` says that begins with a keyword, its `head`; None where it does not, or what is wrong."""
    if head == "moved-to" and rest:
        # Benches have any name; in capitals or not it is the same one.
        return {"moved_to": next((one for one in benches if one.casefold() == rest.casefold()), rest)}
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
    return None


def watered_said(words: Sequence[str]) -> Said | None:
    """`watered`, `I watered it today`, `gave water`: the fact that `water` counts from, not a rule's work."""
    telling = " ".join(word for word in words if word not in SMALL_WORDS)
    return {"watered": "yes"} if telling in _WATERED else None


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
