"""Which forecast is asked for, and how an alarm reaches a person."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from care_planner.collection.site import FileName
from care_planner.typed_yaml.models import Allowed, Mistake, Strict, Text, Whole, wrong

Setting = Literal["cautious", "middle", "bold"]
MosmixStation = Annotated[Text, Field(pattern=r"^[A-Z0-9]{4,6}$"), Allowed("an id such as 10315")]
Address = Annotated[Text, Field(pattern=r"^https?://[^\s?#]+$"), Allowed("an address such as https://...")]
_NEEDS = {"met-no": "contact", "noaa": "contact", "dwd-mosmix": "station", "file": "file"}


class ForecastChoice(Strict):
    """A forecast service. Nothing is asked of any until one is chosen here.

    `contact` (a mail or web address of yours) goes with every question to met-no and noaa, whose terms ask
    for it; of the place two decimals of a degree are sent, about a kilometre, and the altitude to met-no.
    """

    service: Literal["met-no", "dwd-mosmix", "noaa", "file"]
    contact: Annotated[Text, Allowed("a mail or web address of yours")] | None = Field(
        default=None, description="met-no, noaa: a mail or web address of yours, sent with each question"
    )
    station: MosmixStation | None = Field(default=None, description="dwd-mosmix: the station's id")
    file: FileName | None = Field(default=None, description="file: a CSV with issued,date,tmin_c,tmax_c")
    address: Address | None = Field(
        default=None, description="a mirror's or proxy's address in place of the service's own"
    )

    @model_validator(mode="after")
    def _what_it_needs(self) -> Self:
        needs = _NEEDS[self.service]
        found = []
        if getattr(self, needs) is None:
            why = {
                "contact": "a mail or web address of yours: the service refuses who gives none",
                "station": "the id of a station near you, such as 10315",
                "file": "the name of a CSV in the folder",
            }[needs]
            found.append(Mistake(f"{needs} is missing for {self.service}", f"needed: {why}"))
        if self.file is not None and self.service != "file":
            what = f"file is no key of {self.service}"
            found.append(Mistake(what, "allowed: with service: file", ("file",)))
        if self.station is not None and self.service != "dwd-mosmix":
            what = f"station is no key of {self.service}"
            found.append(Mistake(what, "allowed: with service: dwd-mosmix", ("station",)))
        if found:
            raise wrong(*found)
        return self


class Mail(Strict):
    """A mail for each alarm, by a server of yours; its password stands in an environment variable."""

    to: Annotated[Text, Field(pattern=r"^[^\s@,]+@[^\s@,]+$"), Allowed("one mail address")]
    sender: Annotated[Text, Field(pattern=r"^[^\s@,]+@[^\s@,]+$"), Allowed("one mail address")] | None = None
    server: Text = "localhost"
    port: Annotated[Whole, Field(ge=1, le=65535)] = 25
    tls: Literal["none", "start", "direct"] = Field(default="none", description="start: STARTTLS on the port")
    user: Text | None = None
    password_variable: Annotated[Text, Field(pattern=r"^[A-Za-z_][A-Za-z0-9_]*$")] | None = Field(
        default=None, description="the environment variable that holds the password"
    )


class AlarmChoice(Strict):
    """When tonight is an alarm, and how besides the calendar it is told."""

    setting: Setting = Field(default="middle", description="cautious: rather once too often; bold: rarely")
    command: tuple[Text, ...] | None = Field(
        default=None, description="a program and its arguments; the alarm is its standard input"
    )
    mail: Mail | None = None
