"""A date far from what the published plan expects is doubted before it is believed."""

from datetime import date
from pathlib import Path

import pytest
from small_collection import make_collection, noted, refused

from care_planner.calendar.write_calendar import held_folder
from care_planner.folder.read_folder import read_folder
from care_planner.folder.write_plan import write_plan
from care_planner.plan import make_plan

PLANNED = date(2027, 3, 1)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The small yard with a published plan."""
    from datetime import UTC, datetime

    made = make_collection(tmp_path / "yard")
    inputs = read_folder(made, PLANNED)
    plan = make_plan(inputs.collection, [], inputs.record, inputs.rulebook, PLANNED.toordinal())
    now = datetime(2027, 3, 1, tzinfo=UTC)
    with held_folder(made / "calendar") as held:
        write_plan(held, made, inputs.collection, inputs.rulebook, plan, now)
    return made


@pytest.mark.parametrize(
    ("tree", "what", "on", "doubt"),
    [
        ("sats-01", "first-flower", "2026-11-25", "'First flower open' on 2026-11-25 is far from"),
        ("sats-01", "open 40%", "2027-01-25", "'First flower open' on 2027-01-25 is far from"),
        ("maple-01", "leaf-out", "2027-01-05", "'First leaves unfold' on 2027-01-05 is far from"),
        (
            "sats-01",
            "did prune-after-bloom",
            "2027-01-01",
            "'Prune after bloom' on 2027-01-01 is far from its time",
        ),
    ],
)
def test_a_date_out_of_season_is_doubted(folder: Path, tree: str, what: str, on: str, doubt: str) -> None:
    (told,) = refused(folder, tree, what, on)
    assert doubt in told
    assert told.endswith("add --sure if it is right")
    assert noted(folder, tree, what, on, sure=True)[0].startswith(f"noted on {on}")


@pytest.mark.parametrize(
    ("tree", "what", "on"),
    [
        ("sats-01", "first-flower", "2027-05-10"),
        ("maple-01", "leaf-out", "2027-05-01"),
        ("sats-01", "did prune-after-bloom", "2027-07-14"),
        ("sats-01", "did water-round", "2027-01-14"),
    ],
)
def test_a_date_in_its_season_is_not(folder: Path, tree: str, what: str, on: str) -> None:
    assert noted(folder, tree, what, on)[0].startswith(f"noted on {on}")


def test_without_a_published_plan_nothing_is_expected(tmp_path: Path) -> None:
    folder = make_collection(tmp_path / "yard")
    assert noted(folder, "maple-01", "leaf-out", "2027-01-05")[0].startswith("noted on")
