"""What a published plan stood on: how many weather years, and which identity its events have."""

import re
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

from care_planner.disk.read_bytes import read_bytes
from care_planner.folder.read_previous import PLAN_NAME
from care_planner.problems import Problem
from care_planner.stages.members import TOO_FEW_YEARS

_LINES_OF_HEAD = 12
_YEARS = re.compile(r'"weather_years": (\d+)')
_IDENTITY = re.compile(r'"identity": "([0-9a-f-]{36})"')
FEWER_YEARS = "--fewer-years"


@dataclass(frozen=True, slots=True)
class OldBasis:
    """`weather_years` and `identity` are None where the plan is of an older version that lacks them."""

    weather_years: int | None = None
    identity: UUID | None = None


def read_basis(calendar: Path) -> OldBasis | None:
    """The basis of the plan published in a folder; None where none is published or it cannot be read."""
    try:
        text = read_bytes(calendar / PLAN_NAME).decode("utf-8")  # never waits on a pipe
        head = "\n".join(text.split("\n", _LINES_OF_HEAD)[:_LINES_OF_HEAD])
    except (OSError, UnicodeDecodeError):
        return None
    years, identity = _YEARS.search(head), _IDENTITY.search(head)
    return OldBasis(int(years[1]) if years else None, UUID(identity[1]) if identity else None)


def shrunk_record(before: OldBasis | None, years: int, source: str) -> list[Problem]:
    """What is wrong where a plan would stand on fewer usable weather years than the published one: dates
    would move or vanish for no reason that a grower could see."""
    if before is None:
        return []
    least = before.weather_years if before.weather_years is not None else TOO_FEW_YEARS
    if years >= least:
        return []
    had = f"{before.weather_years}" if before.weather_years is not None else "more"
    what = (
        f"the weather has become too short: {years} years can be used, {had} stood behind what is published"
    )
    return [Problem(source, 0, what, f"restore the record, or plan once with {FEWER_YEARS}")]
