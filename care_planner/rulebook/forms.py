"""The forms a plant's flowers take, as a ladder from the lightest to the darkest."""

import re
from collections.abc import Iterator
from functools import cached_property, lru_cache
from typing import Annotated, Self

from pydantic import Field, model_validator

from care_planner.problems import nearest
from care_planner.rulebook.taxon import Name
from care_planner.typed_yaml.models import Mistake, Text, wrong
from care_planner.typed_yaml.read_yaml import Strict

Letter = Annotated[Text, Field(pattern=r"^[A-Z]{1,2}$")]


class Term(Strict):
    """A word of the trade for a form, in its own language."""

    term: Text
    meaning: Text
    source: Text


class Form(Strict):
    """One rung. `also` are other plain words for it; a paler shade of a form is the form."""

    id: Name
    title: Text
    letter: Letter | None = Field(default=None, description="stands for it in tables; found where not given")
    also: list[Text] = []
    japanese: list[Term] = []

    def words(self) -> Iterator[str]:
        """Every word that means this form, as `plain_word` writes it."""
        yield from map(plain_word, (self.id, self.title, *self.also, *(term.term for term in self.japanese)))


class Forms(Strict):
    """The ladder, lightest first: wood that can give one form can as a rule give every darker one too."""

    source: str
    ladder: Annotated[list[Form], Field(min_length=2, max_length=12)]

    @property
    def ids(self) -> tuple[str, ...]:
        """The forms' ids, lightest first."""
        return tuple(form.id for form in self.ladder)

    @property
    def letters(self) -> tuple[str, ...]:
        """A letter or two for each form: as the pack says, else the first of its title that is still free."""
        taken = {form.letter for form in self.ladder if form.letter is not None}
        found: list[str] = []
        for form in self.ladder:
            letter = form.letter
            if letter is None:
                plain = [one for one in form.title.upper() if "A" <= one <= "Z"]
                options = (
                    *plain,
                    *(plain[0] + one for one in plain[1:]),
                    *(one + two for one in plain for two in plain),
                )
                letter = next((one for one in options if one not in taken), "X")
                taken.add(letter)
            found.append(letter)
        return tuple(found)

    def index(self, word: str) -> int | None:
        """The rung (0 is the lightest) that a word means, or None."""
        return self._rungs.get(plain_word(word))

    @cached_property
    def _rungs(self) -> dict[str, int]:
        return {word: rung for rung, form in enumerate(self.ladder) for word in form.words()}

    def words(self) -> list[str]:
        """Every word that means a form."""
        return [word for form in self.ladder for word in form.words()]

    def allowed(self, word: str) -> str:
        """The `allowed` half of a message about a word that means no form."""
        near = nearest(plain_word(word), self.words())
        titles = ", ".join(form.title.lower() for form in self.ladder)
        return f"did you mean {near}?" if near is not None else f"allowed: {titles}"

    @model_validator(mode="after")
    def _one_meaning_each(self) -> Self:
        meant: dict[str, str] = {}
        found = []
        for i, form in enumerate(self.ladder):
            for word in dict.fromkeys(form.words()):
                if word in meant:
                    what = f"'{word}' means both {meant[word]} and {form.id}"
                    found.append(Mistake(what, "one form for each word", ("ladder", i)))
                meant.setdefault(word, form.id)
        if found:
            raise wrong(*found)
        return self


@lru_cache(maxsize=1024)
def plain_word(word: str) -> str:
    """A word without capitals, hyphens and spare spaces, spelt as in Britain where that differs."""
    return re.sub(r"[\s_-]+", " ", word).strip().lower().replace("center", "centre")
