"""The gazetteer that comes with the program (GeoNames, CC BY 4.0; see SOURCE.txt)."""

import lzma
from collections.abc import Iterator
from importlib.resources import files

from care_planner.collection.gazetteer.town import Town, folded, in_country, wanted

ATTRIBUTION = "position, height and time zone from GeoNames (geonames.org), CC BY 4.0"


def read_places(text: str) -> list[Town]:
    """All places that go by a name, own or other: "Ghent", "Ghent, BE" or "Ghent, US-NY"."""
    name, where = wanted(text)
    return in_country(_named(name), where) if name else []


def read_zones_of(name: str) -> list[str]:
    """The time zones of the places with a name, the largest place's first."""
    places = sorted(_named(folded(name)), key=lambda place: -place.inhabitants)
    return list(dict.fromkeys(place.timezone for place in places))


def _named(name: str) -> Iterator[Town]:
    packed = (files("care_planner") / "collection" / "gazetteer" / "places.tsv.xz").read_bytes()
    for line in lzma.decompress(packed).decode("utf-8").splitlines():
        if name not in line:  # cheap, and rules out nearly all
            continue
        own, names, country, division, lat, lon, height, zone, people = line.split("\t")
        if name in names.split("|"):
            above_sea = float(height) if height else None
            yield Town(own, country, division, float(lat), float(lon), above_sea, zone, int(people))
