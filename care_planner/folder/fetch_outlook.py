"""The forecast that a collection has chosen, asked for or read, as what is expected of the next days."""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from care_planner.climate.fetch_forecast import ForecastRequest, fetch_forecast
from care_planner.climate.forecast import Forecast
from care_planner.climate.forecast_file import CLOCK_DRIFT, parse_file
from care_planner.climate.outlook import KeptDay, Outlook, make_outlook
from care_planner.climate.read_forecast import LastAsked, newest_issue, read_asked, read_kept
from care_planner.climate.read_weather import read_text
from care_planner.climate.record import WeatherRecord
from care_planner.climate.write_forecast import keep_forecast, with_issues, write_asked
from care_planner.collection.forecast_wishes import ForecastChoice
from care_planner.collection.model import Collection
from care_planner.folder.fetch_weather import WEATHER_STORE
from care_planner.folder.read_folder import Inputs

_MOST_TOLD = 5


@dataclass(frozen=True)
class _When:
    """Now (aware), and the day that is asked for (ordinal of the site): today, or another for a try."""

    now: datetime
    day: int
    zone: ZoneInfo

    @property
    def real_day(self) -> int:
        return self.day_of(self.now)

    def day_of(self, moment: datetime) -> int:
        return moment.astimezone(self.zone).date().toordinal()


@dataclass(frozen=True)
class _Known:
    """The kept days of the chosen source, when its newest issue of the day was made, and messages."""

    kept: list[KeptDay]
    issued: datetime | None
    messages: list[str]


def fetch_outlook(
    folder: Path, collection: Collection, record: WeatherRecord, now: datetime, today: int | None = None
) -> tuple[Outlook | None, list[str]]:
    """What is expected of the next days, and messages; None where no forecast was chosen.

    `today` (ordinal), where given and not the day of `now`: a try for another day asks nothing of a service,
    keeps nothing of a file, and sees only forecasts that were made up to then.
    """
    choice, zone = collection.forecast, ZoneInfo(collection.site.timezone)
    if choice is None:
        return None, []
    real = now.astimezone(zone).date().toordinal()
    at = _When(now, real if today is None else today, zone)
    if choice.service == "file":
        known = _from_file(folder, choice.file or "", at)
    else:
        known = _from_service(folder / WEATHER_STORE, _question(collection, choice), at)
    issued = known.issued or newest_issue(known.kept, at.day, zone)
    shown = issued.astimezone(zone) if issued is not None and known.kept else None
    return make_outlook(known.kept, record, at.day, choice.service, shown), known.messages


def with_forecast(folder: Path, inputs: Inputs, now: datetime, today: int | None = None) -> Inputs:
    """The inputs with the outlook of `now`, or of `today` (ordinal) as a try for that day has it."""
    outlook, said = fetch_outlook(folder, inputs.collection, inputs.record, now, today)
    return replace(inputs, outlook=outlook, messages=[*inputs.messages, *said])


def _question(collection: Collection, choice: ForecastChoice) -> ForecastRequest:
    assert choice.service != "file"
    site = collection.site
    return ForecastRequest(
        choice.service,
        site.latitude,
        site.longitude,
        site.elevation_m,
        ZoneInfo(site.timezone),
        choice.contact or "",
        choice.station or "",
        choice.address or "",
    )


def _from_service(store: Path, question: ForecastRequest, at: _When) -> _Known:
    messages = fetch_forecast(store, question, at.now) if at.day == at.real_day else []
    return _Known(read_kept(store).get(question.source, []), _issued(store, question.source, at), messages)


def _issued(store: Path, source: str, at: _When) -> datetime | None:
    """When the newest issue was made, where it is remembered and was there on the day."""
    asked = read_asked(store)
    issued = asked.issued_at if asked.source == source else None
    if issued is None or issued > at.now + CLOCK_DRIFT or at.day_of(issued) > at.day:
        return None
    return issued


def _from_file(folder: Path, name: str, at: _When) -> _Known:
    """What the file holds; its issues are kept, for a try of another day only looked at."""
    store, source = folder / WEATHER_STORE, f"file {name}"
    kept = read_kept(store).get(source, [])
    text, unreadable = read_text(folder / name, name)
    if text is None:
        told = [f"{problem}: the forecast kept before is used" for problem in unreadable]
        return _Known(kept, _issued(store, source, at), told)
    end = datetime.fromordinal(at.day).replace(hour=23, minute=59, tzinfo=at.zone)
    issues, faults = parse_file(text, at.zone, at.now if at.day == at.real_day else max(at.now, end))
    messages = [f"{name}:{line}: {words}; this row is passed over" for line, words in faults[:_MOST_TOLD]]
    if len(faults) > _MOST_TOLD:
        messages.append(f"{name}: and {len(faults) - _MOST_TOLD} more rows like these")
    if issues and at.day == at.real_day:
        messages += _keep(store, source, issues, at)
    made = [issue.issued for issue in issues if at.day_of(issue.issued) <= at.day]
    return _Known(with_issues(kept, issues, at.zone), max(made, default=None), messages)


def _keep(store: Path, source: str, issues: list[Forecast], at: _When) -> list[str]:
    try:
        keep_forecast(store, issues, at.zone, source, at.real_day)
        write_asked(store, LastAsked(source, issued=issues[-1].issued.isoformat()))
    except OSError as error:
        return [f"the forecast could not be kept ({error.strerror or error})"]
    return []
