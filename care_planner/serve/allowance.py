"""How much one link may ask for: so much at once, then more with time. Pure: the time is handed in."""

from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock

LINKS_KEPT = 1_000


@dataclass
class Allowance:
    """A bucket for each link: `at_once` things are in it, and one more comes each `every_s` seconds."""

    at_once: int
    every_s: float
    _lock: Lock = field(default_factory=Lock)
    _left: "OrderedDict[str, tuple[float, float]]" = field(default_factory=OrderedDict)

    def takes(self, link: str, now: float) -> bool:
        """Whether the link may have one more at `now` (seconds that only rise); if so, it has had it."""
        with self._lock:
            left = self._left_at(link, now)
            allowed = left >= 1
            self._left.pop(link, None)
            self._left[link] = (left - 1 if allowed else left, now)
            while len(self._left) > LINKS_KEPT:
                self._left.popitem(last=False)
            return allowed

    def would_take(self, link: str, now: float) -> bool:
        """Whether the link may have one more at `now`; it has not had it by asking."""
        with self._lock:
            return self._left_at(link, now) >= 1

    def _left_at(self, link: str, now: float) -> float:
        left, at = self._left.get(link, (float(self.at_once), now))
        return min(self.at_once, left + (now - at) / self.every_s)
