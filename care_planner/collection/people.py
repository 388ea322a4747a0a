"""Whose days the work has to fit."""

from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import ConfigDict, Discriminator, Field, PrivateAttr, RootModel, Tag, model_validator

from care_planner.typed_yaml.models import Day, Label, Mistake, Number, Strict, wrong

# From the day on which most people have time, backwards through the week.
WALK_DAYS = (5, 6, 4, 3, 2, 1, 0)

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
HoursOn = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun", "other"]
WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
Hours = Annotated[Number, Field(ge=0, le=24)]


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
    """Favourite weekdays (a wish), hours for works on each weekday, and days away (hard)."""

    days: tuple[Weekday, ...] | None = Field(default=None, min_length=1, description="favourite weekdays")
    hours: dict[HoursOn, Hours] | None = Field(
        default=None, min_length=1, description="hours for works on weekdays, and on every other day"
    )
    away: tuple[Away, ...] = Field(default=(), description="days away, first and last included")

    def is_away(self, day: int) -> bool:
        """Whether this person is away on a day (ordinal)."""
        return any(span.first.toordinal() <= day <= span.last.toordinal() for span in self.away)

    def likes(self, day: int) -> bool:
        """Whether a day (ordinal) is one of this person's favourite weekdays."""
        return WEEKDAYS[date.fromordinal(day).weekday()] in self.favourites

    @property
    def favourites(self) -> tuple[Weekday, ...]:
        """Favourite weekdays: those told, else those that have hours of their own, else all."""
        if self.days is not None:
            return self.days
        named = tuple(day for day in WEEKDAYS if self.hours and self.hours.get(day, 0.0) > 0)
        return named or WEEKDAYS

    def minutes(self, day: int) -> float:
        """Minutes this person has for works on a day (ordinal); 0 while away."""
        if self.hours is None or self.is_away(day):
            return 0.0
        weekday = WEEKDAYS[date.fromordinal(day).weekday()]
        return 60.0 * self.hours.get(weekday, self.hours.get("other", 0.0))


def _one_or_several(value: Any) -> str:
    """One person where a key is a person's own or a value cannot be a person."""
    if not isinstance(value, dict):
        return "<Person>"
    is_one = any(key in ("days", "away", "hours") for key in value) or not all(
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

    # Days (ordinals) on which nobody works, although somebody is there.
    _days_off: frozenset[int] = PrivateAttr(default=frozenset())

    def __eq__(self, other: object) -> bool:
        """Those of one model are equal without what is private: a plan would be taken for another's."""
        if not isinstance(other, People):
            return NotImplemented
        return bool(self.root == other.root) and self._days_off == other._days_off

    def __hash__(self) -> int:
        return hash(self._days_off)

    def without(self, days: frozenset[int]) -> "People":
        """The same people, who do not work on these days (ordinals)."""
        found = self.model_construct(self.root)
        found._days_off = days
        return found

    @property
    def persons(self) -> tuple[Person, ...]:
        """Everyone, in no order that matters."""
        return (self.root,) if isinstance(self.root, Person) else tuple(self.root.values())

    def is_away(self, day: int) -> bool:
        """Whether nobody is there on a day (ordinal)."""
        return all(person.is_away(day) for person in self.persons)

    def nobody_works(self, day: int) -> bool:
        """Whether nobody is there on a day (ordinal), or works are put off."""
        return day in self._days_off or self.is_away(day)

    def is_favourite(self, day: int) -> bool:
        """Whether a day (ordinal) is a favourite weekday of someone who is there and works."""
        there = (person for person in self.persons if not person.is_away(day))
        return day not in self._days_off and any(person.likes(day) for person in there)

    @property
    def told_hours(self) -> bool:
        """Whether anyone told hours, so that works are laid within them."""
        return any(person.hours is not None for person in self.persons)

    def minutes(self, day: int) -> float:
        """Minutes for works on a day (ordinal), of all together."""
        return 0.0 if day in self._days_off else sum(person.minutes(day) for person in self.persons)

    def walk_day(self, monday: int) -> int | None:
        """The day of a week (its Monday an ordinal) for the bench walk; None where nobody is there.

        A favourite day, Saturday rather than Sunday, then backwards through the week; else any other.
        """
        days = [monday + place for place in WALK_DAYS]
        liked = (day for day in days if self.is_favourite(day))
        return next(liked, next((day for day in days if not self.nobody_works(day)), None))

    def whose_day(self, day: int) -> str:
        """The name of the one person who has a day as a favourite; empty for one person alone, or several."""
        if isinstance(self.root, Person):
            return ""
        names = [n for n, person in self.root.items() if person.likes(day) and not person.is_away(day)]
        return names[0] if len(names) == 1 and len(self.root) > 1 else ""
