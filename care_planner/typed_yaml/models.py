"""What a model of a YAML file is made of: the base class, the scalar types, and how to say "wrong".

Scalars arrive as text. Use the types below for numbers, dates and yes/no instead of the bare Python
ones: pydantic alone would take `1_000` for a number and `20270301` for a date in 1970.
"""

import re
import unicodedata
from datetime import date
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

FIRST_YEAR, LAST_YEAR = 1800, 2199


class Strict(BaseModel):
    """Base of every model of what a person wrote: unknown keys are mistakes, nothing changes later."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, str_strip_whitespace=True, regex_engine="rust-regex"
    )


class Allowed(NamedTuple):
    """Put beside a type (`Annotated[str, Allowed("...")]`): what a message names as allowed."""

    text: str


class Mistake(NamedTuple):
    """One mistake that a model's validator found: `at` is the path below the model."""

    what: str
    allowed: str = ""
    at: tuple[str | int, ...] = ()


def wrong(*mistakes: Mistake) -> PydanticCustomError:
    """For a model validator to raise: all it found, each with its own place and its own words."""
    return PydanticCustomError("mistakes", "mistakes", {"mistakes": mistakes})


def unfit(what: str = "", allowed: str = "") -> PydanticCustomError:
    """For a field validator to raise: shown as `NAME is 'VALUE', WHAT; ALLOWED`.

    Without `allowed` the message names what the field's type allows.
    """
    return PydanticCustomError("unfit", "unfit", {"what": what, "allowed": allowed})


_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_WHOLE = re.compile(r"[+-]?[0-9]{1,15}")
_DAY = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
_SEASON = re.compile(r"[0-9]{4}")
_SLUG = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_LABEL = re.compile(r"[^\W_](?:[\w' -]{0,38}[\w'-])?")
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_CONTROL_BUT_BREAKS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029]")
_YES_NO = {"true": True, "yes": True, "false": False, "no": False}


def _number(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    text = value.strip()
    if not _NUMBER.fullmatch(text):
        plain = text.replace(",", ".", 1).replace("\u2212", "-", 1)
        raise unfit("not a number", f"write {plain}" if _NUMBER.fullmatch(plain) else "")
    return float(text)


def _whole(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    if not _WHOLE.fullmatch(value.strip()):
        raise unfit("not a whole number")
    return int(value)


def _share(value: Any) -> Any:
    if not isinstance(value, str) or not value.rstrip().endswith("%"):
        return _number(value)
    text = value.strip().removesuffix("%").strip()
    if not _NUMBER.fullmatch(text):
        raise unfit("not a number")
    return float(text) / 100


def _day(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    found = _DAY.fullmatch(value.strip())
    if not found:
        raise unfit("not a date")
    year, month, day = map(int, found.groups())
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise unfit(f"a year outside {FIRST_YEAR} to {LAST_YEAR}")
    try:
        return date(year, month, day)
    except ValueError:
        raise unfit("a day that does not exist") from None


def _yes_no(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    if value.strip().lower() not in _YES_NO:
        raise unfit()
    return _YES_NO[value.strip().lower()]


def _season(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    if not _SEASON.fullmatch(value) or not FIRST_YEAR <= int(value) <= LAST_YEAR:
        raise unfit("not a season")
    return int(value)


def _slug(value: Any) -> Any:
    if isinstance(value, str) and not _SLUG.fullmatch(value):
        raise unfit()
    return value


def _label(value: Any) -> Any:
    if isinstance(value, str) and not _LABEL.fullmatch(value.strip()):
        raise unfit()
    return unicodedata.normalize("NFC", value.strip()) if isinstance(value, str) else value


def _one_line(value: Any) -> Any:
    if isinstance(value, str) and _CONTROL.search(value):
        raise unfit("with a line break or control character", "allowed: text on one line")
    return value


def _lines(value: Any) -> Any:
    if isinstance(value, str) and _CONTROL_BUT_BREAKS.search(value):
        raise unfit("with a control character", "allowed: text and line breaks")
    return value


Number = Annotated[float, BeforeValidator(_number)]
"""A decimal number; bound it with `Field(ge=..., le=...)`."""

Whole = Annotated[int, BeforeValidator(_whole)]
"""A whole number; bound it with `Field(ge=..., le=...)`."""

Share = Annotated[
    float,
    BeforeValidator(_share),
    Field(ge=0, le=1),
    Allowed("0 to 1, or 0% to 100%"),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0, "maximum": 1},
                {"type": "string", "pattern": "^[0-9]+(\\.[0-9]+)?%$"},
            ]
        }
    ),
]
"""A part of a whole, 0 to 1; may be written as a percentage."""

Day = Annotated[
    date,
    BeforeValidator(_day),
    Allowed("a date such as 2027-03-01"),
    WithJsonSchema({"type": "string", "pattern": "^[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}$"}),
]
"""A calendar day, ISO order; month and day may lack their leading zero."""

YesNo = Annotated[bool, BeforeValidator(_yes_no), Allowed("true, false"), WithJsonSchema({"type": "boolean"})]
"""True or false; `yes` and `no` are taken too."""

Season = Annotated[
    int,
    BeforeValidator(_season),
    Allowed("the year in which its spring starts, such as 2027"),
    WithJsonSchema({"type": "string", "pattern": "^[0-9]{4}$"}),
]
"""A season as a mapping's key."""

Slug = Annotated[
    str,
    BeforeValidator(_slug),
    Allowed("a name of a-z, 0-9 and hyphens, starting with a letter or digit, 64 characters at most"),
    WithJsonSchema({"type": ["string", "integer"], "pattern": "^[a-z0-9][a-z0-9-]{0,63}$"}),
]
"""An id or name that is safe in a file name and in a feed."""

Label = Annotated[
    str,
    BeforeValidator(_label),
    Allowed("a name of letters, digits, blanks and hyphens, 40 characters at most"),
    WithJsonSchema({"type": ["string", "integer"], "pattern": "^[^\\s:/]([^:/]{0,38}[^\\s:/])?$"}),
]
"""A name that people give a bench or a person; letters of any alphabet, safe in a file name."""

Text = Annotated[str, BeforeValidator(_one_line), Field(min_length=1, max_length=200)]
"""Free text on one line."""

LongText = Annotated[str, BeforeValidator(_lines), Field(min_length=1, max_length=2000)]
"""Free text, line breaks allowed."""
