"""A file's bytes, without waiting for a pipe and without taking in more than was asked for."""

import errno
import os
import stat
from pathlib import Path


def read_bytes(path: Path, most: int | None = None) -> bytes:
    """The bytes of a plain file, at most `most + 1` of them: one more than allowed tells that it is too long.

    Raises OSError, also for a folder, a pipe or a device: opening a pipe would wait for whoever writes to it.
    """
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0))
    with os.fdopen(handle, "rb") as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "not a file", str(path))
        return file.read() if most is None else file.read(most + 1)


def bytes_if_there(path: Path) -> bytes | None:
    """The bytes of a plain file, None where there is none. Raises OSError where the machine refuses."""
    try:
        return read_bytes(path)
    except FileNotFoundError:
        return None


def leads_out(path: Path, folder: Path) -> bool:
    """Whether a path is a link, or lies behind one, that ends outside of `folder`.

    What is outside was never meant to be read here: a message about it could show what it holds.
    """
    try:
        return not path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # links in a circle
        return True
