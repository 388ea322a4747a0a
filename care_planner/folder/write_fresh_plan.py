"""Plan and write, so that a plan made from older files never takes the place of a newer one."""

from collections.abc import Callable, Iterable
from contextlib import ExitStack
from pathlib import Path
from typing import TypeVar

from care_planner.calendar.write_calendar import HeldFolder, held_folder
from care_planner.folder.read_previous import read_previous
from care_planner.folder.read_signs import read_signs_of_all
from care_planner.years.previous import PreviousPlan

# Twice without keeping others out, since planning may take long; then once more with the folder held.
FREE_TRIES = 2


Made = TypeVar("Made")
Told = TypeVar("Told")


def all_heard(heard: list[str], said: Iterable[str]) -> list[str]:
    """What this reading of a folder says and what those before it said (`heard`, added to), each once.

    What a reading fetches changes the store, so that a plan is made anew; the second reading asks nothing and
    has nothing to say of it.
    """
    heard += [message for message in said if message not in heard]
    return list(heard)


def write_fresh_plan(
    folder: Path,
    out: Path,
    make: Callable[[PreviousPlan, list[str]], Made],
    write: Callable[[HeldFolder, Made], Told],
) -> Told:
    """Make a plan of the collection in `folder`, and write it to `out` with what `write` returns.

    `make` reads the collection and plans from the plan that stands in `out` (and what is to be told of it);
    `write` writes what it made, while nobody else writes there. Where a file was changed or another plan was
    written meanwhile, it is made anew. Raises what they raise, or CannotWrite.
    """
    for left in reversed(range(FREE_TRIES + 1)):
        with ExitStack() as stack:
            held = None if left else stack.enter_context(held_folder(out))
            signs = read_signs_of_all(folder, out)
            made = make(*read_previous(out))
            if held is None:
                held = stack.enter_context(held_folder(out))
                if read_signs_of_all(folder, out) != signs:
                    continue
            return write(held, made)
    raise AssertionError("the last try always writes")
