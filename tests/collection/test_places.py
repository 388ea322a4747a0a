"""Places by name, against positions from outside the project."""

import pytest

from care_planner.collection.gazetteer.read_places import read_places, read_zones_of
from care_planner.collection.gazetteer.town import Town, folded, meant


def place(name: str, country: str, inhabitants: int) -> Town:
    return Town(name, country, "", 0.0, 0.0, None, "UTC", inhabitants)


@pytest.mark.parametrize(
    ("text", "latitude", "longitude", "zone"),
    [
        # Positions of the weather stations in tests/data/SOURCES.md, which lie in or beside these towns.
        ("Utsunomiya", 36.55, 139.87, "Asia/Tokyo"),
        ("Gangneung", 37.75, 128.89, "Asia/Seoul"),
        ("Uccle", 50.80, 4.35, "Europe/Brussels"),
    ],
)
def test_reference_towns_lie_where_their_weather_stations_do(
    text: str, latitude: float, longitude: float, zone: str
) -> None:
    found, _ = meant(read_places(text))
    assert found is not None and found.timezone == zone
    assert abs(found.latitude - latitude) < 0.2 and abs(found.longitude - longitude) < 0.2


def test_a_place_goes_by_its_other_names_and_without_accents() -> None:
    ids = {meant(read_places(text))[0] for text in ("Ghent", "Gent", "GENT", "ghent, be")}
    assert len(ids) == 1 and None not in ids
    assert meant(read_places("Munchen"))[0] == meant(read_places("München"))[0] is not None
    assert folded("St.-Iv\u00e9s") == "st ives"


def test_several_places_of_one_name_are_asked_about() -> None:
    found, candidates = meant(read_places("Newcastle"))
    assert found is None and len({c.country for c in candidates}) > 3
    assert meant(read_places("Newcastle, AU"))[0] is not None
    assert read_places("Nosuchtown") == [] and read_places("") == []


def test_the_one_that_outshines_the_others_is_meant() -> None:
    large, small = place("A", "XX", 100_000), place("A", "YY", 10_000)
    assert meant([small, large])[0] is large
    assert meant([small, large, place("A", "ZZ", 1)]) == (None, [large, small, place("A", "ZZ", 1)])


def test_a_zone_is_found_by_a_towns_name() -> None:
    assert read_zones_of("Ghent")[0] == "Europe/Brussels"
