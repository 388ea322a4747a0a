"""The collection as a whole: site, benches, people, risk, trees."""

from pydantic import Field

from care_planner.collection.forecast import AlarmChoice, ForecastChoice
from care_planner.collection.people import People
from care_planner.collection.show import ShowDate
from care_planner.collection.site import Benches, Site
from care_planner.collection.tree import Tree
from care_planner.collection.water import WaterFacts
from care_planner.typed_yaml.models import Number, Share, Strict


class Risk(Strict):
    """How much risk is accepted."""

    frost: Share = Field(default=0.1, description="chance of frost damage a season that is accepted, 0 to 1")


class CalendarWishes(Strict):
    """What the calendar does beyond showing the work."""

    alarm_hours_before: Number | None = Field(
        default=None,
        gt=0,
        le=720,
        description="one alarm this many hours before the day begins; none where not told",
    )


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
    trees: tuple[Tree, ...]
