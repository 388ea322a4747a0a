"""Whose days the work has to fit."""

from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import ConfigDict, Discriminator, Field, RootModel, Tag, model_validator

from care_planner.typed_yaml.models import Day, Label, Mistake, Strict, wrong

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Away(Strict):
    """Days away, the first and the last both included (as people say it)."""

    first: Day = Field(alias="from")
    last: Day = Field(alias="to")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.first > self.last:
            what = f"from is {self.first}, after to, which is {self.last}"
            raise wrong(Mistake(what, "allowed: the first day away, then the last", ("from",)))
        return self


class Person(Strict):
    """Favourite weekdays (a wish) and days away (hard)."""

    days: tuple[Weekday, ...] = Field(default=WEEKDAYS, min_length=1, description="favourite weekdays")
    away: tuple[Away, ...] = Field(default=(), description="days away, first and last included")

    def is_away(self, day: int) -> bool:
        """Whether this person is away on a day (ordinal)."""
        return any(span.first.toordinal() <= day <= span.last.toordinal() for span in self.away)

    def likes(self, day: int) -> bool:
        """Whether a day (ordinal) is one of this person's favourite weekdays."""
        return WEEKDAYS[date.fromordinal(day).weekday()] in self.days


def _one_or_several(value: Any) -> str:
    """One person where a key is a person's own or a value cannot be a person."""
    if not isinstance(value, dict):
        return "<Person>"
    is_one = any(key in ("days", "away") for key in value) or not all(
        isinstance(v, dict) for v in value.values()
    )
    return "<Person>" if is_one else "<dict>"


class People(RootModel[Any]):
    """One person, or several by name."""

    model_config = ConfigDict(frozen=True)

    root: Annotated[
        Annotated[Person, Tag("<Person>")]
        | Annotated[dict[Label, Person], Tag("<dict>"), Field(min_length=1)],
        Discriminator(_one_or_several),
    ] = Person.model_validate({})

    @property
    def persons(self) -> tuple[Person, ...]:
        """Everyone, in no order that matters."""
        return (self.root,) if isinstance(self.root, Person) else tuple(self.root.values())

    def is_away(self, day: int) -> bool:
        """Whether nobody is there on a day (ordinal)."""
        return all(person.is_away(day) for person in self.persons)

    def is_favourite(self, day: int) -> bool:
        """Whether a day (ordinal) is a favourite weekday of someone who is there."""
        return any(person.likes(day) and not person.is_away(day) for person in self.persons)
