"""The forecast that a collection has chosen, asked for or read, as what is expected of the next days."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from care_planner.climate.fetch_forecast import ForecastRequest, fetch_forecast
from care_planner.climate.forecast_file import parse_file
from care_planner.climate.outlook import KeptDay, Outlook, make_outlook
from care_planner.climate.read_forecast import LastAsked, read_asked, read_kept
from care_planner.climate.read_weather import read_text
from care_planner.climate.record import WeatherRecord
from care_planner.climate.write_forecast import keep_forecast, write_asked
from care_planner.collection.forecast_wishes import ForecastChoice
from care_planner.collection.model import Collection
from care_planner.folder.fetch_weather import WEATHER_STORE
from care_planner.folder.read_folder import Inputs

_MOST_TOLD = 5


def fetch_outlook(
    folder: Path, collection: Collection, record: WeatherRecord, now: datetime, today: int | None = None
) -> tuple[Outlook | None, list[str]]:
    """What is expected of the next days, and messages; None where no forecast was chosen.

    `today` (ordinal), where given and not the day of `now`: a try for another day asks nothing of a service
    and sees only forecasts that were made up to then.
    """
    choice, zone = collection.forecast, ZoneInfo(collection.site.timezone)
    if choice is None:
        return None, []
    store, real = folder / WEATHER_STORE, now.astimezone(zone).date().toordinal()
    messages = _refresh(folder, collection, choice, now) if today in (None, real) else []
    asked = read_asked(store)
    day = real if today is None else today
    kept = read_kept(store) if asked.service == choice.service else []
    issued = asked.issued_at if kept else None
    if issued is not None:
        issued = issued.astimezone(zone) if day >= real else _newest(kept, day, zone)
    return make_outlook(kept, record, day, choice.service, issued), messages


def _newest(kept: list[KeptDay], day: int, zone: ZoneInfo) -> datetime | None:
    """When the newest issue that was there on a day was made; of kept ones only the day is known."""
    days = [row.issued_on for row in kept if row.issued_on <= day]
    return datetime.fromordinal(max(days)).replace(hour=12, tzinfo=zone) if days else None


def with_forecast(folder: Path, inputs: Inputs, now: datetime, today: int | None = None) -> Inputs:
    """The inputs with the outlook of `now`, or of `today` (ordinal) as a try for that day has it."""
    outlook, said = fetch_outlook(folder, inputs.collection, inputs.record, now, today)
    return replace(inputs, outlook=outlook, messages=[*inputs.messages, *said])


def _refresh(folder: Path, collection: Collection, choice: ForecastChoice, now: datetime) -> list[str]:
    site, store, zone = collection.site, folder / WEATHER_STORE, ZoneInfo(collection.site.timezone)
    if choice.service == "file":
        return _from_file(folder, choice.file or "", store, zone)
    question = ForecastRequest(
        choice.service,
        site.latitude,
        site.longitude,
        site.elevation_m,
        zone,
        choice.contact or "",
        choice.station or "",
        choice.address or "",
    )
    return fetch_forecast(store, question, now)


def _from_file(folder: Path, name: str, store: Path, zone: ZoneInfo) -> list[str]:
    text, unreadable = read_text(folder / name, name)
    if text is None:
        return [f"{problem}: the forecast kept before is used" for problem in unreadable]
    issues, faults = parse_file(text, zone)
    messages = [f"{name}:{line}: {words}; this row is passed over" for line, words in faults[:_MOST_TOLD]]
    if len(faults) > _MOST_TOLD:
        messages.append(f"{name}: and {len(faults) - _MOST_TOLD} more rows like these")
    if issues:
        try:
            keep_forecast(store, issues, zone)
            write_asked(store, LastAsked(service="file", issued=issues[-1].issued.isoformat()))
        except OSError as error:
            messages.append(f"the forecast could not be kept ({error.strerror or error})")
    return messages
