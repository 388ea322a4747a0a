"""Changes to the secret links, on disk: whole or not at all, readable by their owner alone."""

import secrets
from collections.abc import Callable, Sequence
from pathlib import Path

from care_planner.calendar.write_calendar import held_folder
from care_planner.disk.write_whole import write_whole
from care_planner.problems import Problem, ProblemsFound
from care_planner.serve.names import SERVED_FOLDER, SHARES_FILE
from care_planner.serve.read_shares import read_shares
from care_planner.serve.shares import SECRET_BYTES, Share, shares_text

Change = Callable[[Sequence[Share]], tuple[list[Share], list[Problem]]]


def new_secret() -> str:
    """192 bits from the system's generator, as 32 characters that stand in an address as they are."""
    return secrets.token_urlsafe(SECRET_BYTES)


def change_shares(folder: Path, change: Change) -> None:
    """Apply a change to the links of a collection, one process at a time.

    Raises ProblemsFound with what the change finds wrong, CannotWrite or OSError with the links as they were.
    """
    with held_folder(folder / SERVED_FOLDER):
        shares, problems = change(read_shares(folder))
        if problems:
            raise ProblemsFound(problems)
        write_whole(folder / SHARES_FILE, shares_text(shares), 0o600)
