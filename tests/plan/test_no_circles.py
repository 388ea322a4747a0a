"""A plan that is over goes at once: who plans every day must not wait for the collector of circles."""

import gc

import pytest
from planning import MAPLE, SATSUKI, plan

HOURS = {"people": {"hours": {"sat": 2, "sun": 2}}}
TREES = (SATSUKI, {**SATSUKI, "id": "s2", "frost_limit_c": -1.5}, MAPLE)


@pytest.mark.parametrize("more", [{}, HOURS], ids=["plain", "hours"])
def test_nothing_of_a_plan_that_is_over_waits_for_the_collector(more):
    plan(*TREES, **more)
    gc.collect()
    gc.disable()
    try:
        plan(*TREES, **more)
        assert gc.collect() < 100
    finally:
        gc.enable()
