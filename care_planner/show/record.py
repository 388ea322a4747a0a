"""What a person must know of the weather record before reading any date."""

from care_planner.climate.record_age import ended_words
from care_planner.folder.fetch_weather import weather_words
from care_planner.folder.read_folder import Inputs
from care_planner.show.wrapping import wrapped


def record_lines(inputs: Inputs, today: int) -> list[str]:
    """Lines to put first where the record ended long before `today` (ordinal); none where it goes on."""
    said = ended_words(inputs.record, today, weather_words(inputs.collection.site.sources))
    return wrapped(said) if said else []
