"""What a library of another language prints by itself goes nowhere."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

_STDOUT = 1


@contextmanager
def nothing_printed() -> Iterator[None]:
    """Meanwhile the process's standard output is closed, also to code that is not Python's."""
    out = os.dup(_STDOUT)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDOUT)
        yield
    finally:
        os.dup2(out, _STDOUT)
        os.close(nowhere)
        os.close(out)
