"""The table of scores is that of the packs, and the scores are of the numbers that stand in them."""

from dataclasses import replace

import pytest

from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook, shipped_folder
from care_planner.rulebook.taxon import Stage
from care_planner.tools.write_scores import SCORES_FILE, scores_text, stale_scores

REWRITE = "stale: run python -m care_planner.tools.write_scores"
MEASURE = "scored with other numbers: run tests/benchmarks/forecast_skill.py --held-out ... --scores-into"


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    found, problems = read_rulebook()
    assert not problems
    return found


def test_the_shipped_table_is_not_stale(rulebook: Rulebook) -> None:
    assert (shipped_folder() / SCORES_FILE).read_text(encoding="utf-8") == scores_text(rulebook), REWRITE


def test_the_scores_are_of_the_numbers_that_stand_there(rulebook: Rulebook) -> None:
    assert stale_scores(rulebook) == [], MEASURE


def test_every_taxon_fitted_on_records_is_scored(rulebook: Rulebook) -> None:
    fitted = {"wisteria", "japanese-apricot", "camellia", "japanese-maple", "korean-azalea"}
    assert {id for id, rules in rulebook.taxa.items() if rules.scores is not None} == fitted
    section = scores_text(rulebook).split("## satsuki-azalea")[1].split("\n## ")[0]
    assert "no open record of it was at hand" in section


def test_another_number_makes_scores_and_table_stale(rulebook: Rulebook) -> None:
    rules = rulebook.taxa["wisteria"]
    stage = rules.stages["first-flower"]
    text = stage.model_dump(exclude_defaults=True)
    text["reached"]["warmth"]["sum"] = text["reached"]["warmth"]["sum"] + 0.1
    other = replace(rules, stages={**rules.stages, stage.id: Stage.model_validate(text)})
    assert stale_scores(replace(rulebook, taxa={**rulebook.taxa, "wisteria": other})) == ["wisteria"]
    pace = rules.taxon.pace.model_copy(update={"fades": 0.1})
    taxon = rules.taxon.model_copy(update={"pace": pace})
    other = replace(rules, taxon=taxon)
    assert stale_scores(replace(rulebook, taxa={**rulebook.taxa, "wisteria": other})) == ["wisteria"]
    unscored = replace(rules, scores=None)
    assert scores_text(replace(rulebook, taxa={"wisteria": unscored})) != scores_text(
        replace(rulebook, taxa={"wisteria": rules})
    )
