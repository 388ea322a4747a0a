"""A corpus of what growers type: understood, kept and said to be kept, or refused with what to type."""

from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from care_planner.journal.when import day_said
from care_planner.journal.words import KEPT, Heard, Known, parse_what
from care_planner.note.known import known_names
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.typed_yaml.models import Mistake
from care_planner.typed_yaml.read_yaml import read_yaml

TODAY = date(2027, 7, 15)  # a Thursday
FILE = Path(__file__).with_name("phrases.yaml")


def phrases() -> list[dict[str, Any]]:
    located, problems = read_yaml(FILE, FILE.name)
    assert located is not None, problems
    return list(located.data)


PHRASES = phrases()


@cache
def known(taxon: str) -> Known:
    rulebook, problems = read_rulebook(taxa=[taxon])
    assert problems == []
    return known_names(rulebook.taxa.values(), ["open", "low", "shed"])


def heard(phrase: dict[str, Any]) -> tuple[date | None, Heard | Mistake]:
    found = day_said(phrase["says"], TODAY)
    if isinstance(found, Mistake):
        return None, found
    day, words = found
    return day, parse_what(words, known(phrase.get("tree", "satsuki-azalea")))


@pytest.mark.parametrize("phrase", PHRASES, ids=[phrase["says"] for phrase in PHRASES])
def test_a_phrase_becomes_what_its_grower_meant(phrase: dict[str, Any]) -> None:
    day, said = heard(phrase)
    if "refused" in phrase:
        assert isinstance(said, Mistake)
        assert phrase["refused"] in f"{said.what}; {said.allowed}"
        return
    assert isinstance(said, Heard), said
    if "kept" in phrase:
        guess = f"; did you mean {phrase['kept']}" if phrase["kept"] else ""
        assert said.said == {"note": phrase["says"]}
        assert said.told.startswith(KEPT + guess)
        return
    wanted = {key: value for key, value in phrase.items() if key not in ("says", "tree", "day", "note")}
    if "open" in str(wanted.get("saw")) and isinstance(wanted["saw"], dict) and "open" in wanted["saw"]:
        wanted["saw"] = {"open": float(wanted["saw"]["open"])}
    assert {key: value for key, value in said.said.items() if key != "note"} == wanted
    assert ("note" in said.said) == ("note" in phrase)
    assert day == (TODAY - timedelta(days=int(phrase["day"])) if "day" in phrase else None)


def test_the_corpus_is_large_and_mostly_understood() -> None:
    understood = [phrase for phrase in PHRASES if "kept" not in phrase and "refused" not in phrase]
    assert len(PHRASES) >= 150
    assert len(understood) >= 100
    assert len({(phrase["says"], phrase.get("tree")) for phrase in PHRASES}) == len(PHRASES)
