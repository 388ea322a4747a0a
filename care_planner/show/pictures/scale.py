"""Days on the axis of a season, in per cent of its width."""

from dataclasses import dataclass
from datetime import date

from care_planner.spans import Span
from care_planner.words.days import MONTHS


@dataclass(frozen=True, slots=True)
class Scale:
    """Days (ordinals) to per cent of a span."""

    span: Span

    def x(self, day: float) -> float:
        """Where a day begins, cut at the ends of the span."""
        share = (day - self.span.start) / len(self.span)
        return round(100 * min(max(share, 0.0), 1.0), 2)

    def middle(self, day: float) -> float:
        """The middle of a day."""
        return self.x(day + 0.5)

    def months(self) -> tuple[tuple[float, str], ...]:
        """The first days of the months within the span, with the month's name."""
        firsts = (day for day in range(self.span.start, self.span.end) if date.fromordinal(day).day == 1)
        return tuple((self.x(day), MONTHS[date.fromordinal(day).month - 1]) for day in firsts)
