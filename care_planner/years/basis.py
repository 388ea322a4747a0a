"""What all trees of a plan stand on."""

from collections.abc import Sequence
from functools import cached_property

from care_planner.climate.outlook import Outlook
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.learning.past import PastWeather
from care_planner.rulebook.pack import Rulebook
from care_planner.years.common import shared_by_all
from care_planner.years.lessons import NO_LESSONS, KeptLessons, Lessons, Noted, lessons, speaks_of_pace
from care_planner.years.state import Shared


class Basis:
    """What all trees of a plan stand on: the place, the weather, the rules and the day."""

    def __init__(
        self,
        collection: Collection,
        record: WeatherRecord,
        rulebook: Rulebook,
        today: int,
        outlook: Outlook | None = None,
    ) -> None:
        self.collection, self.record, self.rulebook, self.today = collection, record, rulebook, today
        self.outlook = outlook
        self.shared, self.weather_years = shared_by_all(collection, record, today, outlook)
        self._lessons = KeptLessons()

    def is_of(
        self,
        collection: Collection,
        record: WeatherRecord,
        rulebook: Rulebook,
        today: int,
        outlook: Outlook | None = None,
    ) -> bool:
        """Whether a plan of these would stand on it: trees aside, the very same."""
        same = record is self.record and rulebook is self.rulebook and today == self.today
        same = same and outlook == self.outlook
        return same and _without_trees(collection) == _without_trees(self.collection)

    def with_empty_board(self) -> Shared:
        """What trees share, with no work on any day yet."""
        return self.shared.anew()

    def learn(self, noted: Sequence[Noted]) -> Lessons:
        """What the notes of all trees teach; notes read before are not read again."""
        if self.record.kind != "daily" or not any(map(speaks_of_pace, noted)):
            return NO_LESSONS
        return lessons(noted, self.rulebook, self.shared, self.past, self._lessons)

    @cached_property
    def past(self) -> PastWeather:
        site = self.collection.site
        return PastWeather(self.record, site.latitude, self.collection.benches, self.today)


def _without_trees(collection: Collection) -> Collection:
    return collection.model_copy(update={"trees": ()})
