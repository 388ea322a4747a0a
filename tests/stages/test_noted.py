"""Which season a note belongs to: what may come before the new year is of the season that begins then."""

from datetime import date

import pytest

from care_planner.journal.model import Entry, Saw
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.stages.noted import history_of


@pytest.fixture(scope="module")
def taxa() -> dict[str, TaxonRules]:
    rulebook, problems = read_rulebook()
    assert not problems
    return dict(rulebook.taxa)


def seasons(rules: TaxonRules, stage: str, *days: str, south: bool = False) -> set[int]:
    """The seasons of notes of a stage."""
    entries = [Entry(date.fromisoformat(day), "t", saw=Saw(stage=stage)) for day in days]
    return {season for id, season in history_of(entries, rules, south).stages if id == stage}


def test_a_camellias_first_flower_before_the_new_year_is_of_the_next_season(
    taxa: dict[str, TaxonRules],
) -> None:
    camellia = taxa["camellia"]
    assert seasons(camellia, "first-flower", "2026-12-20") == {2027}
    assert seasons(camellia, "first-flower", "2027-02-20") == {2027}
    assert seasons(camellia, "first-flower", "2027-06-20", south=True) == {2027}


def test_other_flowers_are_of_the_season_they_are_seen_in(taxa: dict[str, TaxonRules]) -> None:
    assert seasons(taxa["wisteria"], "first-flower", "2026-12-20") == {2026}


def test_not_yet_and_a_share_open_go_with_their_stage(taxa: dict[str, TaxonRules]) -> None:
    apricot = taxa["japanese-apricot"]
    not_yet = Entry(date(2026, 12, 28), "t", saw=Saw(stage="first-flower", not_yet=True))
    half = Entry(date(2026, 12, 30), "t", saw=Saw(share_open=0.5))
    history = history_of([not_yet, half], apricot, False)
    assert ("first-flower", 2027) in history.not_yet
    assert set(history.opened) == {2027}
