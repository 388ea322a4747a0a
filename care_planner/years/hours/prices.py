"""What a minute is worth on each day: the price at which works no longer crowd there."""

import numpy as np

from care_planner.years.hours.problem import Floats, HoursProblem

ROUNDS = 80


def day_prices(problem: HoursProblem) -> Floats:
    """Prices [d] in loss a minute, found by raising those of days that are too full and lowering the rest.

    Each class asks for its cheapest day at the prices of the round (a subgradient of the relaxed problem, in
    which a class may be split and order has no say); the mean of the later rounds is taken, since single
    rounds swing. 0 on days with time to spare.
    """
    cost = np.where(np.isfinite(problem.cost()), problem.cost(), np.inf)
    work = problem.minutes + problem.setup[problem.kind] / np.maximum(problem.count, 1)
    load = problem.count * work
    worth = problem.missed / np.maximum(work, 1e-9)
    scale = float(np.median(worth[worth > 0])) if (worth > 0).any() else 0.0
    room = np.maximum(problem.capacity, 1.0)
    prices, total, taken = np.zeros(len(problem.days)), np.zeros(len(problem.days)), 0
    rows = np.arange(len(work))
    for turn in range(ROUNDS):
        asked = cost + work[:, None] * prices
        day = asked.argmin(axis=1)
        wanted = asked[rows, day] < problem.missed
        minutes = np.bincount(day[wanted], load[wanted], minlength=len(prices))
        step = scale / (2.0 + turn / 4.0)
        prices = np.maximum(prices + step * np.clip((minutes - problem.capacity) / room, -1.0, 2.0), 0.0)
        if turn >= ROUNDS // 2:
            total, taken = total + prices, taken + 1
    mean: Floats = total / taken
    return mean
