"""Reference values from outside, each with its source; and worked examples done by hand."""

import math
from datetime import date

import pytest

from care_planner.outlook.water.evaporation import (
    TO_TWO_METRES,
    above_the_air_mj,
    hargreaves_mm,
    penman_monteith_mm,
    solar_from_sunshine_mj,
    vapour_pressure_kpa,
)
from care_planner.outlook.water.pot import PotFacts, PotWeather, dry_at, round_m2, use_litres, weighed_k
from care_planner.outlook.water.rainwater import ALKALINITY_UNITS, barrel_days, blend, mixed


def test_reference_hargreaves_lyon():
    """FAO-56 example 20 (45.72 N, July, 14.8 to 26.6 degC): Ra 40.55 MJ, 5.0 mm."""
    above = above_the_air_mj(45.72, 196)
    assert above == pytest.approx(40.55, abs=0.05)
    assert hargreaves_mm(14.8, 26.6, above) == pytest.approx(5.0, abs=0.05)


def test_reference_hargreaves_with_its_own_mean():
    """Mehta 2006, as in PyETo's tests/test_fao.py: 28 to 38 degC, mean 35, Ra 38.93715 MJ gives 6.1 mm."""
    assert hargreaves_mm(28.0, 38.0, 38.93715, 35.0) == pytest.approx(6.1, abs=0.05)


def test_it_is_equation_52_and_no_modified_form():
    """McMahon et al. 2013, S19, print 4.1129 for 23.7951 S, 20 July, 2 to 21 degC, by a modified formula."""
    found = hargreaves_mm(2.0, 21.0, above_the_air_mj(-23.7951, 201))
    assert found == pytest.approx(2.83, abs=0.03)


def test_reference_penman_monteith_uccle():
    """FAO-56 example 18 (Uccle, 50.80 N, 100 m, 6 July): 12.3 to 21.5 degC, humidity 63 to 84 %, wind 10 km/h
    at 10 m, 9.25 h of sun of 16.1: 3.9 mm (3.88)."""
    above = above_the_air_mj(50.80, 187)
    assert above == pytest.approx(41.09, abs=0.1)
    found = penman_monteith_mm(
        12.3,
        21.5,
        vapour_kpa=1.409,
        wind_2m_m_s=10 / 3.6 * TO_TWO_METRES,
        solar_mj=solar_from_sunshine_mj(9.25, 16.1, above),
        above_mj=above,
        elevation_m=100,
    )
    assert found == pytest.approx(3.9, abs=0.05)


@pytest.mark.parametrize(
    ("humidity", "printed"), [(45, 3.64), (55, 2.98), (65, 2.32), (75, 1.66), (85, 0.99)]
)
def test_reference_deficit(humidity, printed):
    """Ma, Liang & Zhao 2019 (HortScience 54(7):1115), 38 degC: what is lacking to saturation."""
    assert vapour_pressure_kpa(38.0) * (1 - humidity / 100) == pytest.approx(printed, abs=0.01)


def test_reference_depth_and_litres():
    """Beeson 2010: 600 mL are 11.8 mm on the area of an 11.4 L pot, so 0.0508 m2."""
    assert use_litres(1.0, 11.8, 0.0508) == pytest.approx(0.600, rel=0.01)


RAIN = [0, 5, 0, 12, 0.4, 0, 0, 20, 0, 0]
BARREL = {"roof_m2": 20, "size": 200, "start": 60, "demand": 15, "first_flush": 10}


def test_worked_barrel_by_yield_after_spillage():
    days = barrel_days(RAIN, **BARREL)
    assert [day.inflow for day in days] == [0, 70, 0, 182, 0, 0, 0, 310, 0, 0]
    assert [day.held for day in days] == [45, 100, 85, 185, 170, 155, 140, 185, 170, 155]
    assert sum(day.spilled for day in days) == 317
    assert sum(day.taken for day in days) == 150


def test_worked_barrel_by_yield_before_spillage():
    days = barrel_days(RAIN, **BARREL, spillage_first=False)
    assert [day.held for day in days] == [45, 100, 85, 200, 185, 170, 155, 200, 185, 170]
    assert sum(day.spilled for day in days) == 302


@pytest.mark.parametrize("spillage_first", [True, False])
def test_no_litre_is_made_or_lost(spillage_first):
    days = barrel_days([*RAIN, math.nan, 3, 80], **BARREL, spillage_first=spillage_first)
    before = 60.0
    for day in days:
        assert day.held == pytest.approx(before + day.inflow - day.taken - day.spilled)
        assert 0 <= day.held <= 200
        before = day.held


def test_worked_blend():
    """220 mg/L of the tap and 5 of the rain to 60: 25.6 % tap; EC 0.55 and 0.03 give 0.16 dS/m."""
    share = blend(220, 5, 60).tap_share
    assert share * 100 == pytest.approx(25.6, abs=0.1)
    assert mixed(220, 5, share) == pytest.approx(60)
    assert mixed(0.55, 0.03, share) == pytest.approx(0.16, abs=0.005)
    assert blend(50, 5, 60).why_not and blend(220, 60, 60).why_not


def test_units_of_alkalinity():
    """1 mmol/L = 50.04 mg/L CaCO3 = 61.0 mg/L HCO3 = 2.8 degrees German."""
    assert ALKALINITY_UNITS["mmol/l"] == pytest.approx(61.0 * ALKALINITY_UNITS["hco3"], rel=0.001)
    assert ALKALINITY_UNITS["mmol/l"] == pytest.approx(2.8 * ALKALINITY_UNITS["dh"], rel=0.002)


@pytest.mark.parametrize(
    ("litres", "area", "days"),
    [
        (1, round_m2(13), (4.7, 2.4, 1.6)),
        (1, round_m2(20), (2.0, 1.0, 0.7)),
        (5, round_m2(22), (8.2, 4.1, 2.7)),
        (5, round_m2(40), (2.5, 1.2, 0.8)),
        (15, round_m2(32), (12, 5.8, 3.9)),
        (15, round_m2(65), (2.8, 1.4, 0.9)),
        (8.4, 0.12, (4.4, 2.2, 1.5)),
        (8.4, 0.20, (2.6, 1.3, 0.9)),
    ],
)
def test_worked_days_between_waterings(litres, area, days):
    """25 % available (a peat mix), water at half of it, K 1, at an ET0 of 2, 4 and 6 mm: worked by hand."""
    pot = PotFacts(litres, area, area, "peat")
    for et0, expected in zip((2, 4, 6), days, strict=True):
        found = dry_at(pot, [PotWeather(1, et0, 0.0)]).likely
        assert found == pytest.approx(expected, abs=0.06 if expected < 10 else 0.4)


def test_a_weighing_gives_k_back():
    assert weighed_k(use_litres(1.3, 4.2, 0.05), 4.2, 0.05) == pytest.approx(1.3)
    with pytest.raises(ValueError, match="says nothing of K"):
        weighed_k(0.4, 0.0, 0.05)


def test_the_day_of_the_year_of_july_15():
    assert date(2027, 7, 15).timetuple().tm_yday == 196
