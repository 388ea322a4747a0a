"""The server's log: without the secrets of addresses, and so that no fault can fill a disk with it."""

import logging
import re

from care_planner.words.harmless import harmless

# Starting value. A fault of the machine comes back with every request and every look.
SAID_EVERY_S = 60.0
_WORDS_KEPT = 500
# What a library says of a request repeats what the request said.
LONGEST_OF_OTHERS = 300
_OURS = "care_planner"
_SECRET = re.compile(r"/g/[^/\s\"'?]+")
_LOGGERS = (_OURS, "waitress", "flask", "werkzeug")


class NoSecrets(logging.Formatter):
    """Log lines without the secrets of addresses, whoever wrote them."""

    def format(self, record: logging.LogRecord) -> str:
        words = harmless(_SECRET.sub("/g/...", super().format(record)))
        return words if _is_ours(record) or record.exc_info else words[:LONGEST_OF_OTHERS]


class Seldom(logging.Filter):
    """Lets the same words through once in `SAID_EVERY_S`, by the time of the records.

    Words of a library are the same whatever request they are about: else each header would be new.
    """

    def __init__(self) -> None:
        super().__init__()
        self._said_at: dict[str, float] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        words = f"{record.name} {record.getMessage() if _is_ours(record) else record.msg}"
        if record.created - self._said_at.get(words, -SAID_EVERY_S) < SAID_EVERY_S:
            return False
        if len(self._said_at) >= _WORDS_KEPT:
            self._said_at.clear()
        self._said_at[words] = record.created
        return True


def _is_ours(record: logging.LogRecord) -> bool:
    return record.name.partition(".")[0] == _OURS


def log_to_the_terminal() -> None:
    """Send warnings of the server and everything of ours to the terminal."""
    handler = logging.StreamHandler()
    handler.setFormatter(NoSecrets("%(levelname)s %(message)s"))
    handler.addFilter(Seldom())
    for name in _LOGGERS:
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [handler], False
        logger.setLevel(logging.INFO if name == _OURS else logging.WARNING)
    # A line for each request that waits would bury the rest.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
