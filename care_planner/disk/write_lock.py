"""One program at a time: a lock beside the files it is for, which the system lets go when a program dies."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

# Starting value: a plan of a thousand trees is written in some seconds; who waits longer waits for a fault.
WAIT_S = 30.0


class Busy(OSError):
    """Another program held the lock for as long as was waited; nothing was done."""


@contextmanager
def held(lock: Path, seconds: float = WAIT_S) -> Iterator[None]:
    """Hold the lock file `lock` until the block is left; waits for its turn up to so many seconds.

    Raises Busy, or OSError where the disk refuses. The file stays where it is afterwards. The locks are
    those of the system (flock, LockFileEx), through filelock.
    """
    from filelock import FileLock, Timeout

    one = FileLock(lock, timeout=seconds, poll_interval=0.01)
    try:
        one.acquire()
    except Timeout as fault:
        what = f"another program has been at work there for {seconds:g} s; try again"
        raise Busy(errno.EBUSY, what, str(lock)) from fault
    try:
        yield
    finally:
        one.release()
