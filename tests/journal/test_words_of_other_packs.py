"""A word that one pack gives a work holds for that work of other trees; else their own works are named."""

import pytest
from small_world import shipped

from care_planner.journal.words import Heard, parse_what
from care_planner.note.known import known_names, work_of_others

TAXA = ("satsuki-azalea", "wisteria", "camellia", "japanese-apricot", "japanese-maple")


@pytest.mark.parametrize("taxon", ["wisteria", "camellia", "satsuki-azalea"])
def test_dead_headed_is_a_work_of_every_tree_whose_spent_flowers_come_off(taxon: str) -> None:
    every = shipped(*TAXA).taxa
    heard = parse_what("dead-headed", known_names([every[taxon]], [], every.values()))
    assert isinstance(heard, Heard) and heard.said == {"did": "spent-flowers-off"}


def test_a_tree_without_such_work_tells_its_own_that_are_likest() -> None:
    every = shipped(*TAXA).taxa
    for taxon, said in (("japanese-apricot", '"did fruit-off" (Young fruits off)'), ("japanese-maple", "")):
        known = known_names([every[taxon]], [], every.values())
        found = work_of_others("dead-headed", [every[taxon]], every.values(), known)
        assert (found is not None and said in found.allowed) if said else found is None
