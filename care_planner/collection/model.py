"""The collection as a whole: site, benches, people, risk, trees."""

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from care_planner.collection.forecast_wishes import AlarmChoice, ForecastChoice
from care_planner.collection.people import People
from care_planner.collection.show import ShowDate
from care_planner.collection.site import Benches, Site
from care_planner.collection.tree import Tree
from care_planner.collection.water import WaterFacts
from care_planner.typed_yaml.models import Allowed, Number, Share, Strict, Text, unfit

RiskOfColours = Annotated[Share, Field(gt=0, le=0.5), Allowed("above 0 to 0.5, or 50%")]

_LINK = re.compile(r"https?://[!-~]{1,500}")


def _whole_minutes(hours: float) -> float:
    if abs(hours * 60 - round(hours * 60)) > 1e-6 or round(hours * 60) < 1:
        raise unfit("which is no whole number of minutes", "allowed: hours such as 15 or 0.5")
    return hours


def _link(value: object) -> object:
    if isinstance(value, str) and not _LINK.fullmatch(value):
        raise unfit("which is no address", "allowed: an address such as https://trees.example/")
    return value


class Risk(Strict):
    """How much risk is accepted."""

    frost: Share = Field(default=0.1, description="chance of frost damage a season that is accepted, 0 to 1")
    colours: RiskOfColours = Field(
        default=0.1,
        description="chance that is accepted of losing a form by a cut, or with cuttings, 0 to 0.5",
    )


class CalendarWishes(Strict):
    """What the calendar does beyond showing the work."""

    alarm_hours_before: Annotated[Number, Field(gt=0, le=720), AfterValidator(_whole_minutes)] | None = Field(
        default=None,
        description="an alarm so many hours before a day with works, in whole minutes; none where not told",
    )
    alarms: Literal["a-day", "each"] = Field(
        default="a-day", description="one alarm a day with all its works, or one for each work"
    )
    link: Annotated[Text, BeforeValidator(_link)] | None = Field(
        default=None, description="the address of the page where work is noted, put into each entry"
    )

    @property
    def alarm_minutes(self) -> int | None:
        """Minutes from the alarm to the beginning of the day."""
        return None if self.alarm_hours_before is None else round(self.alarm_hours_before * 60)


class Collection(Strict):
    """What `collection.yaml` says."""

    site: Site
    benches: Benches = Field(description="the places trees stand, by name")
    people: People = Field(default=People(), description="one person, or several by name")
    risk: Risk = Risk()
    calendar: CalendarWishes = CalendarWishes()
    forecast: ForecastChoice | None = Field(
        default=None, description="a forecast service to ask; none where not told"
    )
    alarm: AlarmChoice = AlarmChoice()
    show: ShowDate | None = Field(default=None, description="a show that trees are to be at in bloom")
    water: WaterFacts = Field(default=WaterFacts(), description="the tap's lime and the rain barrel")
    silence: Literal["ask", "as-planned"] = Field(
        default="ask",
        description="heavy work without a note: ask whether it was done, or take it as done as planned",
    )
    trees: tuple[Tree, ...]
