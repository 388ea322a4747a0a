"""Degree-days against the printed results of others, and the laws they must keep."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.degree_days import METHODS, degree_days

REFERENCES = Path(__file__).parents[1] / "references"

# Zalom et al. 1983, table 7 (lower 55, upper 90 degF, horizontal cut-off): Tmin, Tmax, next Tmin, then single
# triangle, double triangle, single sine, double sine. Read in a copy of the table. The paper prints 24.88
# for the double triangle of 60/100/75; that is a misprint: its two half days are 23.75 (printed as the single
# triangle) and 30.50, and their mean is 27.12.
ZALOM_TABLE_7 = [
    (96, 110, 91, 35.00, 35.00, 35.00, 35.00),
    (91, 105, 96, 35.00, 35.00, 35.00, 35.00),
    (45, 54, 38, 0, 0, 0, 0),
    (38, 50, 45, 0, 0, 0, 0),
    (60, 80, 75, 15.00, 18.75, 15.00, 18.75),
    (75, 88, 60, 26.50, 22.75, 26.50, 22.75),
    (50, 82, 45, 11.39, 10.62, 11.85, 11.31),
    (45, 70, 50, 4.50, 5.06, 5.31, 5.70),
    (60, 100, 75, 23.75, 27.12, 22.82, 26.26),
    (75, 95, 60, 29.38, 25.76, 28.91, 25.30),
    (50, 101, 48, 19.56, 19.19, 18.95, 18.69),
    (48, 95, 50, 16.76, 17.13, 16.96, 17.23),
]

# McMaster & Wilhelm 1997, table 1 (base 0 degC): Tmax, Tmin, method 1, method 2. Read in a copy of the table.
# Method 1 averages and then floors at the base (plain average); method 2 raises Tmin and Tmax to the base
# before it averages (modified average).
MCMASTER_WILHELM_TABLE_1 = [
    (20, 10, 15, 15),
    (10, 1, 5.5, 5.5),
    (8, -2, 3, 4),
    (6, 0, 3, 3),
    (10, 5, 7.5, 7.5),
    (5, -5, 0, 2.5),
    (-2, -7, 0, 0),
    (-5, -10, 0, 0),
    (10, -2, 4, 5),
    (15, 2, 8.5, 8.5),
]

temperatures = st.floats(-40, 45)


def days(*values: float) -> np.ndarray:
    return np.array(values, dtype=np.float64)


@pytest.mark.parametrize("method", ["single-triangle", "double-triangle", "single-sine", "double-sine"])
def test_reference_366_days_of_esparto(method):
    with (REFERENCES / "degree_days_esparto_2020.csv").open() as stream:
        rows = list(csv.DictReader(line for line in stream if not line.startswith("#")))
    tmin = np.array([float(row["tmin_f"]) for row in rows])
    tmax = np.array([float(row["tmax_f"]) for row in rows])
    kind, shape = method.split("-")
    printed = np.array([float(row[f"{kind}_{shape}_horizontal"]) for row in rows])
    assert len(rows) == 366
    computed = degree_days(tmin, tmax, method=method, lower=50, upper=70)
    # The last day's next Tmin is 1 January 2021, which is not in the file.
    compared = slice(None) if kind == "single" else slice(0, -1)
    np.testing.assert_allclose(computed[compared], printed[compared], atol=0.01)


@pytest.mark.parametrize(
    ("place", "method"),
    [(3, "single-triangle"), (4, "double-triangle"), (5, "single-sine"), (6, "double-sine")],
)
def test_reference_zalom_1983_table_7(place, method):
    tmin, tmax, next_tmin = (days(*(row[column] for row in ZALOM_TABLE_7)) for column in range(3))
    printed = [row[place] for row in ZALOM_TABLE_7]
    computed = degree_days(tmin, tmax, method=method, lower=55, upper=90, next_tmin=next_tmin)
    np.testing.assert_allclose(computed, printed, atol=0.01)


@pytest.mark.parametrize(("place", "method"), [(2, "average"), (3, "modified-average")])
def test_reference_mcmaster_wilhelm_1997_table_1(place, method):
    tmax, tmin = (days(*(row[column] for row in MCMASTER_WILHELM_TABLE_1)) for column in range(2))
    printed = [row[place] for row in MCMASTER_WILHELM_TABLE_1]
    np.testing.assert_allclose(degree_days(tmin, tmax, method=method, lower=0), printed, atol=0.05)


def test_reference_worked_examples_of_herms():
    # D. Herms, slides on degree-days for plant phenology (read in a copy), base 50 degF: 70/40 gives 5 by the
    # average and 10 by the modified average; 63/43 gives 3; a day whose mean is 45 gives 0.
    tmax, tmin = days(70, 63, 50), days(40, 43, 40)
    np.testing.assert_allclose(degree_days(tmin, tmax, method="average", lower=50), [5, 3, 0])
    assert degree_days(tmin, tmax, method="modified-average", lower=50)[0] == 10


@pytest.mark.parametrize("method", METHODS)
def test_a_day_without_a_range_counts_its_height_and_stops_at_the_upper_threshold(method):
    still = days(4, 5, 12, 30, 33, 40)
    computed = degree_days(still, still, method=method, lower=5, upper=33, next_tmin=still)
    np.testing.assert_allclose(computed, [0, 0, 7, 25, 28, 28], atol=1e-12)


@pytest.mark.parametrize("method", METHODS)
def test_a_missing_value_gives_a_missing_day(method):
    tmin, tmax = days(5, np.nan, 5, 5, 5), days(15, 15, 15, np.nan, 15)
    missing = np.isnan(degree_days(tmin, tmax, method=method, lower=0, upper=30))
    # A double method also needs tomorrow's Tmin.
    assert missing.tolist() == [method.startswith("double"), True, False, True, False]


@pytest.mark.parametrize("method", METHODS)
def test_years_by_days_gives_each_row_as_on_its_own(method):
    tmin = np.arange(30.0).reshape(3, 10) - 5
    tmax = tmin + np.linspace(2, 14, 10)
    together = degree_days(tmin, tmax, method=method, lower=6, upper=20)
    for row in range(3):
        alone = degree_days(tmin[row], tmax[row], method=method, lower=6, upper=20)
        np.testing.assert_array_equal(together[row], alone)


@pytest.mark.parametrize("method", METHODS)
@given(
    pairs=st.lists(st.tuples(temperatures, temperatures), min_size=1, max_size=12),
    warmer=st.floats(0, 10),
    lower=st.floats(-5, 15),
    span=st.one_of(st.none(), st.floats(0.5, 30)),
)
def test_degree_days_never_fall_when_warmer_and_stay_between_nought_and_the_span(
    method, pairs, warmer, lower, span
):
    tmin = np.array([min(pair) for pair in pairs])
    tmax = np.array([max(pair) for pair in pairs])
    upper = None if span is None else lower + span
    before = degree_days(tmin, tmax, method=method, lower=lower, upper=upper)
    after = degree_days(tmin + warmer, tmax + warmer, method=method, lower=lower, upper=upper)
    assert (after >= before - 1e-9).all()
    assert (before >= 0).all()
    assert span is None or (before <= span + 1e-9).all()


def test_what_cannot_be_asked_is_refused_in_words():
    with pytest.raises(ValueError, match="no degree-day method 'sine'; allowed: average, modified-average"):
        degree_days(days(1), days(2), method="sine", lower=0)
    with pytest.raises(ValueError, match="the upper threshold 5 must be above the lower one 10"):
        degree_days(days(1), days(2), method="average", lower=10, upper=5)
