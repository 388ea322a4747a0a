"""What to fit, as a short YAML says it."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from care_planner.rulebook.moment import MonthDay
from care_planner.rulebook.taxon import BbchCode, Name
from care_planner.typed_yaml.models import Mistake, wrong
from care_planner.typed_yaml.read_yaml import Strict

Season = Literal["spring", "autumn", "winter"]
Family = Literal["forcing", "forcing-with-chill", "chill-then-forcing", "cold"]
EventId = Annotated[str, Field(pattern=r"^[a-z0-9]+([_-][a-z0-9]+)*$", max_length=64)]

FAMILIES: dict[Season, tuple[Family, ...]] = {
    "spring": ("forcing", "forcing-with-chill", "chill-then-forcing"),
    "winter": ("forcing", "forcing-with-chill"),
    "autumn": ("cold",),
}


class FitEvent(Strict):
    """One event of the observations and the stage it becomes.

    `season`: the part of the year it is looked for in; winter where it crosses the new year. `after`: the
    event it follows, whose warmth or cold it goes on with.
    """

    id: EventId
    stage: Name
    title: str
    bbch: BbchCode
    season: Season
    after: EventId | None = None
    flowering: Literal["true", "false", "yes", "no"] | None = None

    @property
    def is_flowering(self) -> bool:
        """BBCH principal stages 5 (buds) and 6 (flowers) are of the bloom (Meier 2001), unless told."""
        if self.flowering is not None:
            return self.flowering in ("true", "yes")
        return self.bbch[0] in "56"


class FitSpec(Strict):
    """The taxon, its events, and, where wanted, what to try.

    `chill_from`, `warmth_from`: days of the year from which chill and warmth (or autumn's cold) may count;
    not told: those that suit the season. `families`: the forms of the need to choose from.
    """

    taxon: Name
    botanical: str
    title: str | None = None
    kind: Literal["evergreen", "deciduous", "conifer"]
    events: Annotated[list[FitEvent], Field(min_length=1)]
    chill_from: list[MonthDay] = []
    warmth_from: list[MonthDay] = []
    families: list[Family] = []
    source: str | None = None

    @model_validator(mode="after")
    def _events_agree(self) -> "FitSpec":
        found = [*_twice(self.events), *_chains(self.events), *_unfit_families(self)]
        if found:
            raise wrong(*found)
        return self

    def chains(self) -> list[list[FitEvent]]:
        """The events in chains: each follows the one before it, or begins a chain."""
        chains: list[list[FitEvent]] = []
        for event in self.events:
            own = next((c for c in chains if any(before.id == event.after for before in c)), None)
            if own is None:
                chains.append([event])
            else:
                own.append(event)
        return chains


def _twice(events: list[FitEvent]) -> list[Mistake]:
    found = []
    for i, event in enumerate(events):
        for key in ("id", "stage"):
            if any(getattr(before, key) == getattr(event, key) for before in events[:i]):
                found.append(
                    Mistake(f"{key} '{getattr(event, key)}' stands here twice", "once", ("events", i, key))
                )
    return found


def _chains(events: list[FitEvent]) -> list[Mistake]:
    found = []
    for i, event in enumerate(events):
        if event.after is None:
            continue
        before = {earlier.id: earlier for earlier in events[:i]}
        if event.after not in before:
            allowed = f"an event above it: {', '.join(before)}" if before else "no 'after' here"
            found.append(Mistake(f"after names no event '{event.after}'", allowed, ("events", i, "after")))
        elif before[event.after].season != event.season:
            found.append(
                Mistake(
                    f"'{event.id}' is of {event.season} and follows one of {before[event.after].season}",
                    "the same season, or no 'after'",
                    ("events", i, "season"),
                )
            )
    return found


def _unfit_families(spec: FitSpec) -> list[Mistake]:
    if not spec.families:
        return []
    return [
        Mistake(
            f"none of the families suits the {season} events",
            f"allowed there: {', '.join(FAMILIES[season])}",
            ("families",),
        )
        for season in sorted({event.season for event in spec.events})
        if not set(FAMILIES[season]) & set(spec.families)
    ]
