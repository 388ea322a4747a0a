"""Words as growers inflect them: "repotting", "repotted" and "Repot the tree" are the same work.

English only, and rough: two texts are alike where the stems of their telling words are, in the same order.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass


def word_set(text: str) -> frozenset[str]:
    """The words of a text as a set."""
    return frozenset(text.split())


# Words that tell nothing of what was seen or done.
SMALL_WORDS = word_set(
    "a an the my our its their it is are was were be been being has have had i we he she they of "
    "on at to now and this that today just both some very quite all"
)
_IRREGULAR = {
    **dict.fromkeys(("took", "taken", "taking"), "take"),
    **dict.fromkeys(("brought", "bringing"), "bring"),
    **dict.fromkeys(("gave", "given", "giving"), "give"),
    **dict.fromkeys(("fell", "fallen", "falling"), "fall"),
    **dict.fromkeys(("swollen",), "swell"),
    **dict.fromkeys(("began", "begun", "beginning", "starts", "started", "starting"), "begin"),
    **dict.fromkeys(("leaves", "leafs"), "leaf"),
    **dict.fromkeys(("fed", "feeding"), "feed"),
    **dict.fromkeys(("blossom", "blossoms", "blooms", "bloom", "blooming"), "bloom"),
    **dict.fromkeys(("rotten", "rotting", "rots"), "rot"),
    **dict.fromkeys(("dead", "died", "dying"), "dead"),
    **dict.fromkeys(("colour", "color", "colours", "colors", "coloured", "colored", "colouring"), "colour"),
    **dict.fromkeys(("fertilised", "fertilized", "fertilise", "fertilize"), "feed"),
}
_WORD = re.compile(r"[a-z0-9]+")


def words_of(text: str) -> list[str]:
    """The words of a text, small letters, without marks; `didn't` is `did not`."""
    plain = text.lower().replace("’", "'")
    plain = plain.replace("won't", "will not").replace("can't", "can not").replace("n't", " not")
    return _WORD.findall(plain.replace("'s", "").replace("%", " percent "))


def telling(words: Iterable[str]) -> tuple[str, ...]:
    """The stems of the words that tell something."""
    return tuple(stem(word) for word in words if word not in SMALL_WORDS)


def stem(word: str) -> str:
    """What is left of a word without its ending."""
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    for ending in ("ing", "ed", "es", "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word.removesuffix(ending)
            break
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "sl":
        word = word[:-1]
    return word.removesuffix("e") if len(word) > 3 else word


@dataclass(frozen=True)
class Meaning:
    """What a phrase means: a `stage` or a sign that was seen, or a `rule`'s work that was done; by its id."""

    kind: str
    id: str


class Phrases:
    """Phrases by their stems, run together, so that `dead-headed` and `deadheaded` are one."""

    def __init__(self, names: Mapping[str, Meaning], said_as: Mapping[str, Meaning]) -> None:
        self._names = names
        self._by_stems: dict[str, Meaning] = {}
        self.longest = 1
        # The first holds: words that a pack gives before the stems of a name.
        for phrase, meaning in (*said_as.items(), *names.items()):
            stems = telling(words_of(phrase))
            if stems:
                self._by_stems.setdefault("".join(stems), meaning)
                self.longest = max(self.longest, len(stems))

    def find(self, words: Iterable[str]) -> Meaning | None:
        """The meaning of these words as a whole: a name letter by letter, or other forms of a phrase."""
        words = tuple(words)
        return self._names.get("-".join(words)) or self._by_stems.get("".join(telling(words)))

    def begin(self, words: list[str]) -> tuple[Meaning, list[str]] | None:
        """The longest known phrase that a text begins with, and the words after it."""
        for count in range(len(words), 0, -1):
            if words[count - 1] not in SMALL_WORDS and (meaning := self.find(words[:count])) is not None:
                return meaning, words[count:]
        return None
