"""A day as people write it into a list: 20.3.2025, 2025-03-20, 20 March 2025, March 2025, or a year alone."""

import re

from care_planner.collection.gazetteer.town import folded

_DAY_FIRST = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{2}|\d{4})")
_SLASHES = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})")
_MONTH_NUMBER = re.compile(r"(?:(\d{4})-(\d{1,2})|(\d{1,2})[./](\d{4}))")
_NAMED = re.compile(r"(?:(\d{1,2})(?:st|nd|rd|th)? )?([a-z]{3,9})(?: (\d{1,2})(?:st|nd|rd|th)?,?)? (\d{4})")
_YEAR = re.compile(r"(?:(spring|fruhjahr|fruhling) )?(\d{4})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_OTHER_MONTHS = {"mai": 5, "okt": 10, "dez": 12, "mrz": 3}  # in German, umlauts folded
# Where a year alone is put, in the north and in the south: when most repot. Starting value.
SPRING_DAY, SPRING_MONTHS = 20, ((3, "March"), (9, "September"))


def list_day(cell: str, south: bool = False) -> tuple[str, str]:
    """The day as YYYY-MM-DD, and how it was read where the cell says less than a day (else "").

    What is no day, and 3/4/2025 that can be two, come back as they are, for the model to refuse.
    """
    text = cell.strip()
    if found := _DAY_FIRST.fullmatch(text):
        year = found[3] if len(found[3]) == 4 else f"20{found[3]}"
        return f"{year}-{int(found[2]):02d}-{int(found[1]):02d}", ""
    if found := _SLASHES.fullmatch(text):
        first, second = int(found[1]), int(found[2])
        if (first > 12) != (second > 12):
            month, day = min(first, second), max(first, second)
            return f"{found[3]}-{month:02d}-{day:02d}", ""
        return cell, ""
    if found := _MONTH_NUMBER.fullmatch(text):
        return _mid_month(int(found[1] or found[4]), int(found[2] or found[3]), cell)
    plain = folded(text)
    if found := _YEAR.fullmatch(plain):
        month, told = SPRING_MONTHS[south]
        return f"{found[2]}-{month:02d}-{SPRING_DAY}", f"a year alone is read as {SPRING_DAY} {told} of it"
    if (found := _NAMED.fullmatch(plain)) and (named := _month(found[2])):
        if number := found[1] or found[3]:
            return f"{found[4]}-{named:02d}-{int(number):02d}", ""
        return _mid_month(int(found[4]), named, cell)
    return cell, ""


def _mid_month(year: int, month: int, cell: str) -> tuple[str, str]:
    if not 1 <= month <= 12:
        return cell, ""
    return f"{year:04d}-{month:02d}-15", "a month alone is read as its 15th"


def _month(word: str) -> int | None:
    """The month a word names, folded, from three letters on; None where it names none."""
    if word[:3] in _OTHER_MONTHS:
        return _OTHER_MONTHS[word[:3]]
    return _MONTHS.index(word[:3]) + 1 if word[:3] in _MONTHS else None
