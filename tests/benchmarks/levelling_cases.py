"""Made-up years of work to lay into hours: trees, kinds of work, windows, losses, order and rests.

The losses are invented; only ratios between methods are worth reading.
"""

from itertools import pairwise

import numpy as np

from care_planner.years.hours.problem import Floats, HoursProblem, Order, with_rain

DAYS = 365
FIRST_DAY = 739_887  # an ordinal: a Friday, 1 January
MEMBERS = 297
KINDS = 25
CHAINS = 4  # works of a tree that follow one another
REST_DAYS = 28
RAIN_SHARE = 0.4  # of the kinds, not done in rain
LOSSES = (100.0, 30.0, 10.0, 5.0, 2.0)


def case(trees: int, minutes_a_week: dict[int, float], seed: int = 1) -> HoursProblem:
    """A year of `trees` trees of three taxa; `minutes_a_week` by weekday (0 is Monday).

    Trees of a taxon fall into classes with equal curves: each alone up to 60 trees, else 60 classes.
    """
    draw = np.random.default_rng(seed)
    classes = min(trees, 60)
    count = np.full(classes, trees // classes)
    count[: trees % classes] += 1
    weekday = (np.arange(DAYS) + 4) % 7
    minutes_on = np.array([minutes_a_week.get(int(day), 0.0) for day in weekday])
    open_days = np.flatnonzero(minutes_on)
    opens, length, top = _works(draw)
    setup = draw.uniform(5.0, 30.0, KINDS).round()
    minutes_a_tree = draw.uniform(4.0, 22.0, KINDS)
    in_rain = draw.random(KINDS) >= RAIN_SHARE
    early = draw.random(KINDS) < 0.5
    losses, minutes = [], []
    orders = []
    for own in range(classes):
        taxon, size = own % 3, draw.choice([0.7, 1.5])
        shift = draw.normal(0, 5, MEMBERS)[:, None] + draw.normal(0, 6)
        for kind in range(KINDS):
            first = opens[taxon, kind] + shift[:, 0] + draw.normal(0, 2, MEMBERS)
            curve = _curve(first, length[kind], early[kind], top[kind], draw.uniform(0.6, 1.4))
            losses.append(curve if in_rain[kind] else _with_rain(curve, open_days))
            minutes.append(max(1.0, round(minutes_a_tree[kind] * size)))
        orders += _orders(own, opens[taxon], draw)
    loss = np.array(losses)
    missed = np.repeat(count, KINDS) * 0.0 + loss.max(axis=1)
    loss[loss >= missed[:, None] * 0.97] = np.inf
    loss = loss[:, open_days]
    return HoursProblem(
        days=open_days + FIRST_DAY,
        capacity=minutes_on[open_days],
        most_kinds=np.full(len(open_days), KINDS),
        kind=np.tile(np.arange(KINDS), classes),
        count=np.repeat(count, KINDS),
        minutes=np.array(minutes),
        loss=loss,
        missed=missed,
        stands=np.full(len(loss), -1),
        setup=setup,
        orders=tuple(orders),
    )


def _works(draw: np.random.Generator) -> tuple[Floats, Floats, Floats]:
    """Opening of each taxon's kinds, length of the windows, the largest loss."""
    opens = draw.uniform(40, 310, KINDS)[None, :] + draw.normal(0, 8, (3, KINDS))
    return opens, draw.uniform(12, 50, KINDS), draw.choice(LOSSES, KINDS)


def _curve(first: Floats, length: float, early: bool, top: float, scale: float) -> Floats:
    """Mean loss over the members for each day: none in the window, rising outside to the largest."""
    day = np.arange(DAYS)[None, :]
    before, after = first[:, None] - day, day - (first[:, None] + length)
    ramp_before, ramp_after = (10.0, 25.0) if early else (25.0, 10.0)
    share = np.clip(np.maximum(before / ramp_before, after / ramp_after), 0.0, 1.0)
    mean: Floats = top * scale * share.mean(axis=0)
    return mean


def _with_rain(curve: Floats, open_days: np.ndarray) -> Floats:
    """Work that rain forbids is done on the next day with time where it is wet."""
    wet = 0.25 + 0.14 * np.sin(2 * np.pi * (np.arange(DAYS) - 130) / 365)
    rained = curve.copy()
    rained[open_days] = with_rain(curve[open_days], wet[open_days], curve[open_days][-1])
    return rained


def _orders(own: int, opens: Floats, draw: np.random.Generator) -> list[Order]:
    """Some works follow one another at once, some only after a rest."""
    turn = np.argsort(opens, kind="stable")
    found = []
    for start in range(CHAINS):
        chain = turn[start::CHAINS][:3]
        for first, later in pairwise(chain):
            gap = REST_DAYS if draw.random() < 0.4 else 0
            found.append(Order(own * KINDS + int(first), own * KINDS + int(later), gap))
    return found
