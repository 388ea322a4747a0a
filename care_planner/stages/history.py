"""What the journal says of one tree, by season: stages seen, work done, moves."""

from collections.abc import Mapping
from dataclasses import dataclass, field

Key = tuple[str, int]  # an id and the season it belongs to


@dataclass(frozen=True)
class History:
    """Days are ordinals; seasons are the years in which their springs start."""

    stages: Mapping[Key, int] = field(default_factory=dict)  # the day a stage was first seen reached
    opened: Mapping[int, tuple[tuple[int, float], ...]] = field(default_factory=dict)  # (day, share open)
    # A flowering stage has come by the day on which a later one was seen.
    at_latest: Mapping[Key, int] = field(default_factory=dict)
    not_yet: Mapping[Key, int] = field(default_factory=dict)  # the last day a stage was seen not reached
    works: Mapping[Key, tuple[int, ...]] = field(default_factory=dict)  # days a rule's work was done
    skipped: frozenset[Key] = frozenset()
    put_off: Mapping[Key, int] = field(default_factory=dict)  # the first day on which the work may lie again
    # Work on a part of a tray: the day of the last note, and on how many of its plants it was done by then.
    in_part: Mapping[Key, tuple[int, int]] = field(default_factory=dict)
    signs: Mapping[Key, int] = field(default_factory=dict)
    moves: tuple[tuple[int, str], ...] = ()  # (day, bench)
    conditions: tuple[tuple[int, str], ...] = ()  # (day, strong or weak)
