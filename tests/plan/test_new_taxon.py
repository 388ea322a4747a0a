"""A taxon that only a collection's own pack describes is planned; the example is the one the pages show."""

import re
from datetime import date
from pathlib import Path

from care_planner.folder.read_folder import read_folder
from care_planner.plan import Plan, make_plan
from care_planner.tools.run_examples import run_examples
from care_planner.words.chains import why_lines_of
from care_planner.words.fates import fate_words

PROJECT = Path(__file__).parents[2]
FOLDER = PROJECT / "examples" / "new-taxon"
TODAY = date(2027, 3, 1)


def planned() -> Plan:
    inputs = read_folder(FOLDER, TODAY)
    return make_plan(inputs.collection, inputs.entries, inputs.record, inputs.rulebook, TODAY.toordinal())


def test_the_pack_is_the_one_of_the_developers_page() -> None:
    blocks = re.findall(r"```yaml\n(.*?)```", (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8"), re.S)
    assert (FOLDER / "rules" / "chinese-elm.yaml").read_text(encoding="utf-8") in blocks


def test_its_examples_hold() -> None:
    results = list(run_examples(read_folder(FOLDER, TODAY).rulebook.taxa["chinese-elm"]))
    assert len(results) > 2 and [result.fault for result in results if result.fault] == []


def test_its_own_work_and_that_of_any_pot_are_planned() -> None:
    plan = planned()
    rules = {(task.tree, task.rule) for task in plan.tasks if task.season == 2027}
    for id in ("shorten-shoots", "repot", "water-round"):
        assert ("elm-01", id) in rules, id
    cuts = [task.day for task in plan.tasks if (task.tree, task.rule) == ("elm-01", "shorten-shoots")]
    assert TODAY.toordinal() < cuts[0] < date(2027, 7, 1).toordinal()
    # Weak, and repotted last spring.
    assert ("elm-02", "shorten-shoots") not in rules
    assert fate_words(plan.fates["elm-02"]["shorten-shoots", 2027]).startswith("lost: the condition is weak")
    assert ("elm-02", "repot") not in rules


def test_every_date_says_that_the_means_are_rough() -> None:
    words = "made from twelve monthly means only, so every date is rough"
    for task in planned().tasks:
        assert any(words in why for why in why_lines_of(task)), task.key
