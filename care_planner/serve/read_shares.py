"""The secret links of a collection, from its folder."""

from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.read_published import bytes_of
from care_planner.serve.names import SHARES_FILE
from care_planner.serve.shares import BrokenShares, Share, parse_shares


def read_shares(folder: Path) -> list[Share]:
    """The links; none where there is no file. Raises CannotWrite where it is broken or cannot be read.

    A broken file is never taken for an empty one: the next link would overwrite it, and with it everybody's.
    """
    data = bytes_of(folder / SHARES_FILE)
    if data is None:
        return []
    try:
        return parse_shares(data)
    except BrokenShares:
        raise CannotWrite(
            f"{folder / SHARES_FILE} is not what care_planner wrote; put back a copy, or remove it and add "
            "every link anew"
        ) from None
