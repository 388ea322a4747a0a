"""The clocks handed in from the command line, which alone reads them."""

from collections.abc import Callable
from datetime import datetime

Clock = Callable[[str], datetime]
"""Now, in an IANA time zone."""

Ticks = Callable[[], float]
"""Seconds that only rise; for spans of time, not for days."""
