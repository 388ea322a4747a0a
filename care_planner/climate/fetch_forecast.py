"""A service's forecast asked for as its terms want it, kept in the collection's store.

Not before `Expires`, then some minutes later that differ from site to site; with `If-Modified-Since`; with
who asks; two decimals of the place. Whatever comes back that is no forecast is told, and the kept one stays.
What is remembered holds for one service and place: another one begins anew.
"""

import hashlib
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Literal

from care_planner.climate.fetch_http import Answer, fetch_address
from care_planner.climate.forecast import Forecast
from care_planner.climate.forecast_metno import parse_metno
from care_planner.climate.forecast_mosmix import parse_mosmix
from care_planner.climate.forecast_noaa import grid_address, parse_noaa
from care_planner.climate.read_forecast import LastAsked, newest_issue, read_asked, read_kept, time_of
from care_planner.climate.write_forecast import keep_forecast, write_asked

Service = Literal["met-no", "dwd-mosmix", "noaa"]
ADDRESSES = {
    "met-no": "https://api.met.no/weatherapi/locationforecast/2.0/complete",
    "dwd-mosmix": "https://opendata.dwd.de/weather/local_forecasts/mos/MOSMIX_L/single_stations",
    "noaa": "https://api.weather.gov",
}
PARSERS = {"met-no": parse_metno, "dwd-mosmix": parse_mosmix, "noaa": parse_noaa}
# Where a service names no time: our own restraint.
_USUAL_WAIT, _LATEST_EXPIRY = timedelta(hours=1), timedelta(hours=12)
_FIRST_PAUSE, _LONGEST_PAUSE = timedelta(minutes=10), timedelta(hours=6)
_SPREAD_S = 600
# More than a clock or a time zone that is set wrong.
_CLOCKS_APART = timedelta(days=1)
_LONGEST_FAULT = 300


@dataclass(frozen=True)
class ForecastRequest:
    """What to ask: the service and what it needs to know; the site's zone for its days."""

    service: Service
    latitude: float
    longitude: float
    elevation_m: float | None
    zone: tzinfo
    contact: str = ""
    station: str = ""
    address: str = ""

    @property
    def source(self) -> str:
        """Whose forecast of which place it is, the place as it is sent."""
        if self.service == "dwd-mosmix":
            return f"{self.service} {self.station}"
        height = "" if self.service == "noaa" or self.elevation_m is None else f" {round(self.elevation_m)}"
        return f"{self.service} {' '.join(self.place)}{height}"

    @property
    def place(self) -> tuple[str, str]:
        """Latitude and longitude with the two decimals that are sent."""
        # No trailing noughts: the US service answers them with another address.
        return f"{round(self.latitude, 2):g}", f"{round(self.longitude, 2):g}"


def fetch_forecast(store: Path, question: ForecastRequest, now: datetime) -> list[str]:
    """Ask if it is time to, and keep what comes. Returns what to tell a person; no fault raises."""
    asked = _remembered(store, question, now)
    not_before = time_of(asked.not_before)
    # A time far ahead is a clock that was wrong once, or a service's mistake.
    if not_before is not None and now < not_before <= now + _LATEST_EXPIRY + timedelta(hours=1):
        return [_with_time(asked.fault, not_before, question.zone)] if asked.fault else []
    asked, messages = _ask(store, question, asked, now)
    try:
        write_asked(store, asked)
    except OSError as error:
        messages.append(f"what was asked could not be kept ({error.strerror or error})")
    return messages


def _remembered(store: Path, question: ForecastRequest, now: datetime) -> LastAsked:
    """What was asked for this service and place before; with another `contact` a refusal is forgotten."""
    asked = read_asked(store)
    if asked.source != question.source:
        before = newest_issue(
            read_kept(store).get(question.source, ()), _day_of(now, question), question.zone
        )
        issued = min(before, now).isoformat() if before is not None else ""
        return LastAsked(question.source, question.address, question.contact, issued=issued)
    if asked.address != question.address:
        return LastAsked(question.source, question.address, question.contact, issued=asked.issued)
    if asked.contact != question.contact:
        asked = replace(asked, contact=question.contact)
        if asked.failures:
            asked = replace(asked, not_before="", failures=0, fault="")
    return asked


def _ask(
    store: Path, question: ForecastRequest, asked: LastAsked, now: datetime
) -> tuple[LastAsked, list[str]]:
    address, asked, fault = _address(question, asked)
    if fault is not None:
        return _failed(asked, fault, question, now)
    headers = _headers(question)
    # Where nothing is kept of it, "not modified" would leave nothing.
    if asked.last_modified and read_kept(store).get(question.source):
        headers["If-Modified-Since"] = asked.last_modified
    answer = fetch_address(address, headers)
    if answer.status == 304 and "If-Modified-Since" in headers:
        return _rested(asked, answer, question, now), []
    if answer.fault or answer.status not in (200, 203):
        return _failed(asked, answer, question, now)
    try:
        forecast = _made_by(now, PARSERS[question.service](answer.body, question.zone))
    except ValueError as error:
        shown = replace(answer, fault=f"the answer is no forecast: {error}"[:200])
        return _failed(asked, shown, question, now)
    if forecast is None:
        return _failed(asked, replace(answer, fault="the answer holds no day"), question, now)
    messages = _keep(store, forecast, question, now)
    if answer.status == 203:
        messages.append(f"{question.service}: this way of asking ends soon (203); a newer program is needed")
    fresh = replace(
        asked,
        last_modified=answer.headers.get("last-modified", ""),
        issued=forecast.issued.isoformat(),
    )
    return _rested(fresh, answer, question, now), messages


def _made_by(now: datetime, forecast: Forecast | None) -> Forecast | None:
    """A forecast issued by now. ValueError where it was issued later than any two clocks are apart."""
    if forecast is None or forecast.issued <= now:
        return forecast
    if forecast.issued > now + _CLOCKS_APART:
        raise ValueError(f"it was issued at {forecast.issued.isoformat()}, which is later than now")
    # The machine's clock is slow, or its zone is wrong: that must not cost a night's forecast.
    return replace(forecast, issued=now.astimezone(UTC))


def _day_of(now: datetime, question: ForecastRequest) -> int:
    return now.astimezone(question.zone).date().toordinal()


def _keep(store: Path, forecast: Forecast, question: ForecastRequest, now: datetime) -> list[str]:
    try:
        keep_forecast(store, [forecast], question.zone, question.source, _day_of(now, question))
    except OSError as error:
        return [f"the forecast could not be kept ({error.strerror or error})"]
    return []


def _address(question: ForecastRequest, asked: LastAsked) -> tuple[str, LastAsked, Answer | None]:
    """Where to ask; for noaa the grid of the place is asked for first, and remembered."""
    base = (question.address or ADDRESSES[question.service]).rstrip("/")
    latitude, longitude = question.place
    if question.service == "met-no":
        height = "" if question.elevation_m is None else f"&altitude={round(question.elevation_m)}"
        return f"{base}?lat={latitude}&lon={longitude}{height}", asked, None
    if question.service == "dwd-mosmix":
        station = question.station
        return f"{base}/{station}/kml/MOSMIX_L_LATEST_{station}.kmz", asked, None
    if not asked.grid:
        answer = fetch_address(f"{base}/points/{latitude},{longitude}", _headers(question))
        if answer.fault or answer.status != 200:
            return "", asked, answer
        try:
            asked = replace(asked, grid=grid_address(answer.body))
        except ValueError as error:
            return "", asked, replace(answer, fault=str(error))
    return asked.grid, asked, None


def program() -> str:
    """The program's name and version, as services want to know it."""
    from importlib import metadata  # here, since its import takes longer than most commands need

    try:
        return f"care_planner/{metadata.version('care_planner')}"
    except metadata.PackageNotFoundError:  # run from its folder, never installed
        return "care_planner"


def _headers(question: ForecastRequest) -> dict[str, str]:
    return {"User-Agent": f"{program()} {question.contact}".strip(), "Accept": "*/*"}


def _rested(asked: LastAsked, answer: Answer, question: ForecastRequest, now: datetime) -> LastAsked:
    """Answered: nothing is asked again before the answer expires, and then not at the full hour."""
    expires = _time(answer.headers.get("expires", "")) or now + _USUAL_WAIT
    expires = min(max(expires, now), now + _LATEST_EXPIRY)
    pause = timedelta(seconds=60 + _own_number(question, asked.last_modified) % _SPREAD_S)
    later = (expires + pause).astimezone(UTC)
    answered = now.astimezone(UTC).isoformat()
    return replace(asked, not_before=later.isoformat(), answered=answered, failures=0, fault="")


def _failed(
    asked: LastAsked, answer: Answer, question: ForecastRequest, now: datetime
) -> tuple[LastAsked, list[str]]:
    """Not answered: a longer pause each time, and what happened in words."""
    pause = min(_FIRST_PAUSE * 2 ** min(asked.failures, 8), _LONGEST_PAUSE)
    if answer.status == 403:
        pause = _LONGEST_PAUSE
    if answer.status == 429:
        pause = max(pause, _USUAL_WAIT)
    told = answer.headers.get("retry-after", "")
    if told.isdecimal():
        pause = max(pause, min(timedelta(seconds=int(told)), _LATEST_EXPIRY))
    not_before = now + pause
    grid = "" if answer.status == 404 else asked.grid
    kept = "the forecast kept before is used" if asked.issued else "none was kept before"
    fault = f"{question.service}: {_words(answer)[:_LONGEST_FAULT]}; {kept}"
    later = not_before.astimezone(UTC).isoformat()
    asked = replace(asked, not_before=later, failures=asked.failures + 1, fault=fault, grid=grid)
    return asked, [_with_time(fault, not_before, question.zone)]


def _with_time(fault: str, not_before: datetime, zone: tzinfo) -> str:
    return f"{fault}; asked again at {not_before.astimezone(zone):%H:%M}"


def _words(answer: Answer) -> str:
    if answer.fault:
        return answer.fault
    return {
        403: "it refuses the question (403): is `contact` in `forecast:` a real address of yours?",
        404: "it knows no such place (404): check `station`, or the latitude and longitude",
        422: "it does not cover this place (422): check latitude and longitude",
        429: "it asks to be asked less often (429)",
    }.get(answer.status, f"it answered {answer.status} in place of a forecast")


def _time(text: str) -> datetime | None:
    try:
        found = parsedate_to_datetime(text)
    except (TypeError, ValueError):
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _own_number(question: ForecastRequest, salt: str) -> int:
    """A number that differs from site to site and from issue to issue, so that not all ask at once."""
    seed = f"{question.latitude:.2f} {question.longitude:.2f} {question.contact} {salt}"
    return int.from_bytes(hashlib.sha256(seed.encode()).digest()[:4], "big")
