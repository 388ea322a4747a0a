"""A place by its name: which ones a name can mean, and which one is meant."""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

# A namesake this many times larger than all others is what people mean. Starting value.
OUTSHINES = 10.0
MOST_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Town:
    """One place: degrees (north and east positive), metres above sea level, IANA time zone, inhabitants."""

    name: str
    country: str
    division: str
    latitude: float
    longitude: float
    height_m: float | None
    timezone: str
    inhabitants: int

    @property
    def label(self) -> str:
        """What tells it from its namesakes: `Ghent, US-NY`."""
        return (
            f"{self.name}, {self.country}-{self.division}"
            if self.division
            else f"{self.name}, {self.country}"
        )


def folded(name: str) -> str:
    """A name as people type it: no accents, no case, blanks and hyphens alike."""
    plain = unicodedata.normalize("NFKD", name.replace("ß", "ss"))
    letters = "".join(c for c in plain if not unicodedata.combining(c)).casefold()
    return " ".join(letters.replace("-", " ").replace(".", " ").split())


def wanted(text: str) -> tuple[str, str]:
    """What was typed, as (folded name, country or country-division in capitals or nothing)."""
    name, _, where = text.partition(",")
    return folded(name), where.strip().upper()


def in_country(places: Iterable[Town], where: str) -> list[Town]:
    """The places in a country ("BE") or a part of one ("US-NY"); all of them where `where` is empty."""
    return [p for p in places if not where or where in (p.country, f"{p.country}-{p.division}")]


def meant(places: Iterable[Town]) -> tuple[Town | None, list[Town]]:
    """The place that is meant, or None and the candidates, largest first.

    One place is meant where no other has the name, or where it outshines all others by inhabitants.
    """
    found = sorted(places, key=lambda p: (-p.inhabitants, p.country, p.division, p.name, p.latitude))
    if not found:
        return None, []
    others = sum(place.inhabitants for place in found[1:])
    if len(found) == 1 or found[0].inhabitants >= OUTSHINES * others:
        return found[0], found
    return None, found
