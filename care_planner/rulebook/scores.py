"""How well a pack's dates forecast: figures that were measured, with what they were measured on."""

import hashlib
import json
from collections.abc import Iterable
from typing import Annotated

from pydantic import Field

from care_planner.rulebook.taxon import Name, Pace, Stage
from care_planner.typed_yaml.models import Number, Whole
from care_planner.typed_yaml.read_yaml import Strict

LineName = Annotated[str, Field(pattern=r"^[a-z0-9_]+(\.[0-9]+)?$")]


class ScoreLine(Strict):
    """One line: days of RMSE of the middle date, the share of what came inside the 80 % span, and the RMSE
    of the site's own mean day over its last 3 and 10 seasons on the same rows."""

    line: LineName
    stage: Name
    rows: Annotated[Whole, Field(ge=1)]
    rmse_days: Annotated[Number, Field(ge=0)]
    inside_80: Annotated[Number, Field(ge=0, le=1)]
    own_3_days: Annotated[Number, Field(ge=0)] | None = None
    own_10_days: Annotated[Number, Field(ge=0)] | None = None


class Scores(Strict):
    """What was measured, on what, by which command. `numbers`: the mark of the numbers measured with."""

    on: str
    by: str
    numbers: str
    lines: Annotated[list[ScoreLine], Field(min_length=1)]


def mark_of(stages: Iterable[Stage], pace: Pace, of: Iterable[str]) -> str:
    """A short mark of the numbers that forecast some stages: other numbers have another mark.

    `of`: ids of the stages scored. What they hang on in other stages is not followed.
    """
    wanted = set(of)
    said = {
        "stages": {s.id: s.reached.model_dump(exclude_defaults=True) for s in stages if s.id in wanted},
        "pace": pace.model_dump(exclude={"source", "site"}, exclude_defaults=True),
    }
    text = json.dumps(said, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:12]
