"""A copy of a collection to try another day on: what is live stays as it is."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from care_planner.collection.read_collection import read_collection
from care_planner.problems import ProblemsFound
from care_planner.serve.share_links import share_add

LEFT_OUT = ("served", "sheets", ".git", ".shares.json", ".lock")


@contextmanager
def trial_copy(folder: Path, today: date, url: str, say: Callable[[str], None]) -> Iterator[Path]:
    """A copy for as long as it is tried, with one link of its own, which is told.

    Raises ProblemsFound for a folder that is no collection, or OSError.
    """
    collection, _, problems = read_collection(folder)
    if collection is None:
        raise ProblemsFound(problems)
    with TemporaryDirectory(prefix="care-planner-") as place:
        copy = Path(place) / "trees"
        shutil.copytree(folder, copy, ignore=shutil.ignore_patterns(*LEFT_OUT))
        wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
        say(f"a try: as if it were {today}, on a copy. What is noted here is gone when it stops.")
        for line in share_add(copy, "try", wanted, True, url, today):  # type: ignore[arg-type]
            say(line)
        yield copy
