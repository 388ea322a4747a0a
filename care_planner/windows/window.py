"""When one rule's work opens and closes in every member, after rests have cut into it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from care_planner.rulebook.moment import Moment
from care_planner.rulebook.rule import AtRisk, Rule
from care_planner.spans import HALF_YEAR_DAYS, NEVER
from care_planner.stages.members import quantile
from care_planner.stages.moments import View, evaluate
from care_planner.stages.reach import Bools, Floats

Ends = tuple[Floats, Floats]  # the days of opening and close [members]


@dataclass(frozen=True, eq=False)
class MemberWindow:
    """Ordinals [members]. Where there is no window both ends are NEVER; UNKNOWN where weather is missing."""

    opens: Floats
    closes: Floats
    squeezed: float  # share of the known members in which it would close before it opens

    @property
    def exists(self) -> float:
        """The share of the known members that have the window."""
        known = self.opens[~np.isnan(self.opens)]
        return float(np.mean(known < NEVER)) if known.size else float("nan")

    @cached_property
    def _known(self) -> tuple[Floats, Floats]:
        """Both ends of the members in which both are known."""
        known = ~np.isnan(self.opens) & ~np.isnan(self.closes)
        return self.opens[known], self.closes[known]

    @cached_property
    def _medians(self) -> dict[str, float]:
        return {}

    def median(self, part: str = "opens") -> float:
        """Median day of `opens`, `closes` or the `middle` of both."""
        if part not in self._medians:
            self._medians[part] = self._median(part)
        return self._medians[part]

    def _median(self, part: str) -> float:
        if part == "middle":
            finite = np.isfinite(self.opens) & np.isfinite(self.closes)
            middles = np.where(np.isnan(self.opens) | np.isnan(self.closes), np.nan, NEVER)
            middles[finite] = np.floor((self.opens[finite] + self.closes[finite]) / 2)
            middle, first, last = quantile(middles, 0.5), self.median("opens"), self.median("closes")
            return min(max(middle, first), last) if np.isfinite(middle) else middle
        return quantile(self.opens if part == "opens" else self.closes, 0.5)

    def share_holding(self, day: float, closes_only: bool = False, opens_only: bool = False) -> float:
        """The share of the known members in whose own window a day lies (or on the right side of one end)."""
        opens, closes = self._known
        if not opens.size:
            return float("nan")
        if closes_only:
            holds = closes >= day
        else:
            holds = opens <= day if opens_only else (opens <= day) & (closes >= day)
        return int(np.count_nonzero(holds)) / opens.size

    def shares_holding(self, days: range) -> list[float]:
        """`share_holding` of many days at once."""
        opens, closes = self._known
        if not opens.size:
            return [float("nan")] * len(days)
        column = np.array(days)[:, None]
        counts = np.count_nonzero((opens <= column) & (closes >= column), axis=1)
        return [count / opens.size for count in counts.tolist()]


def member_window(rule: Rule, step: int, view: View, ends: Ends, rested_until: float) -> MemberWindow:
    """The window between both `ends` as evaluated; `rested_until` is the first day after every rest."""
    opens, closes = ends
    frame = view.frame
    opens = np.maximum(opens, float(frame.start_of(step - 1)))
    opens = np.maximum(opens, rested_until)
    # A window that nothing closes ends half a year into the next season.
    last = float(frame.start_of(step + 1) + HALF_YEAR_DAYS)
    comes = opens < NEVER
    closes = np.where(comes & (closes > last), last, closes)
    unknown = np.isnan(opens) | np.isnan(closes)
    squeezed = ~unknown & comes & (closes < opens)
    none = ~unknown & (~comes | squeezed)
    if rule.closes_before is not None:
        none |= ~unknown & ~(closes < evaluate(rule.closes_before, step, view))
    share = float(np.mean(squeezed[~unknown])) if (~unknown).any() else 0.0
    return MemberWindow(_set(opens, none, unknown), _set(closes, none, unknown), share)


def risk_window(window: MemberWindow, ends: Ends, at_risk: AtRisk) -> MemberWindow:
    """The window of a risk: the same ends in all members, where so much of the chance is left.

    `ends` are both as evaluated. No window where the risk comes in too few years.
    """
    opens, closes = ends
    known = ~np.isnan(opens) & ~np.isnan(closes)
    none = MemberWindow(np.where(known, NEVER, np.nan), np.where(known, NEVER, np.nan), 0.0)
    if not known.any():
        return window
    first = quantile(opens, at_risk.opens) if at_risk.opens is not None else -np.inf
    last = quantile(closes, 1 - at_risk.closes) if at_risk.closes is not None else NEVER
    if first == NEVER or not np.isfinite(last):
        return none if at_risk.closes is not None or first == NEVER else window
    begins = opens if at_risk.opens is None else np.full(opens.size, first)
    last = max(last, first)
    holds = known & (begins <= last)
    return MemberWindow(
        np.where(known, np.where(holds, begins, NEVER), np.nan),
        np.where(known, np.where(holds, last, NEVER), np.nan),
        0.0,
    )


def raw_ends(rule: Rule, step: int, view: View) -> Ends:
    """Both ends as the rule has them, before rests, in members with room and without."""
    if _hangs_on(rule.opens, "closes"):
        closes = evaluate(rule.closes, step, view)
        return evaluate(rule.opens, step, view, ends={"closes": closes}), closes
    opens = evaluate(rule.opens, step, view)
    return opens, evaluate(rule.closes, step, view, ends={"opens": opens})


def _hangs_on(moment: Moment, end: str) -> bool:
    return any(part.of == end for part in moment.walk())


def _set(days: Floats, none: Bools, unknown: Bools) -> Floats:
    return np.where(unknown, np.nan, np.where(none, NEVER, days))
