"""The public address of a collection, remembered beside its links."""

from pathlib import Path

from care_planner.disk.read_bytes import bytes_if_there
from care_planner.disk.write_whole import write_whole

ADDRESS_FILE = ".address"


def read_address(folder: Path) -> str:
    """The address given last, or empty."""
    return (bytes_if_there(folder / ADDRESS_FILE) or b"").decode("utf-8", "replace").strip()


def write_address(folder: Path, url: str) -> None:
    """Remember an address. Raises OSError."""
    write_whole(folder / ADDRESS_FILE, f"{url}\n".encode())
