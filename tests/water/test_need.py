"""What a pot needs: the model's laws, its range, and what it must not promise."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_world import FLOWERING, collection, day, notes, pack_text, rule, rulebook, smooth_record

from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.climate.record import WeatherRecord
from care_planner.collection.water import Tap, WaterFacts
from care_planner.folder.water_now import WaterNow
from care_planner.journal.model import Entry
from care_planner.outlook.water.air import SiteAir
from care_planner.outlook.water.barrel_years import barrel_years
from care_planner.outlook.water.need import needs
from care_planner.outlook.water.pot import K_RANGE, PotWeather, dry_at, pot_facts, pruned_share
from care_planner.show.passages import passage_lines
from care_planner.show.water import blend_blocks, water_blocks

CUT = rule(
    "cut-back", "opens: {stage: bud-swell}\ncloses: {stage: flush}\nchoose: mid\nheavy: yes", "pruning"
)
RULES = rulebook(pack_text(FLOWERING, CUT))
TODAY = day("2012-07-01")
RECORD = smooth_record()
AIR = SiteAir(RECORD, None, 50.8, 60.0)
POT = pot_facts(5.0, 22.0, None, 40.0, "peat", "small")


def days(et0=4.0, rain=0.0, count=10, tmax=25.0):
    return [PotWeather(TODAY + n, et0, rain, tmax) for n in range(count)]


def need(*entries: Entry, air=AIR, today=TODAY, **tree):
    told = {"taxon": "flowering-tree", "pot": {"litres": 5, "width_cm": 22, "soil": "peat"}, "crown_cm": 40}
    (found,) = needs(collection({**told, **tree}), entries, RULES, air, {"tree-1": "open"}, today)
    return found


def test_by_hand():
    """25 % of 5 L, half of it: 0.625 L; 4 mm on 0.1257 m2: 0.503 L a day."""
    found = dry_at(POT, days())
    assert found.likely == pytest.approx(0.625 / 0.5027, abs=0.01)
    assert found.litres_a_day == pytest.approx((0.302, 0.503, 0.804), abs=0.002)
    assert found.early < found.likely < found.late


@given(st.floats(0.5, 9), st.floats(0.5, 9), st.floats(0, 30), st.floats(0, 30))
def test_more_thirst_never_lasts_longer_and_rain_never_shorter(et0, more, rain, again):
    low, high = sorted((et0, more))
    dry, wet = sorted((rain, again))
    assert dry_at(POT, days(high)).likely <= dry_at(POT, days(low)).likely + 1e-9
    assert dry_at(POT, days(low, wet)).likely >= dry_at(POT, days(low, dry)).likely - 1e-9


def test_small_rain_counts_for_nothing_and_only_much_of_it_ends_a_reminder():
    assert dry_at(POT, days(rain=1.9)).likely == dry_at(POT, days()).likely
    assert dry_at(POT, days(rain=5.0)).likely > dry_at(POT, days()).likely
    assert dry_at(POT, days(rain=5.0)).early == dry_at(POT, days()).early


def test_after_a_hard_prune_it_uses_less_and_then_as_before():
    assert (pruned_share(0), pruned_share(30), pruned_share(60), pruned_share(400)) == (0.6, 0.8, 1.0, 1.0)
    cut = need(*notes({"date": "2012-06-30", "did": "cut-back"}))
    assert cut.pruned_days_ago == 1
    assert cut.dry.likely > need().dry.likely


def test_a_weighing_gives_the_pots_own_k_with_a_narrower_range():
    et0 = AIR.day(day("2012-06-20")).et0_mm
    lost = round(1000 * 1.4 * et0 * need().pot.area_m2)
    pair = notes(
        {"date": "2012-06-20", "weighed_g": 6000, "watered": "yes"},
        {"date": "2012-06-21", "weighed_g": 6000 - lost},
    )
    found = need(*pair)
    assert found.weighings == 1
    today = AIR.day(TODAY).et0_mm / et0
    assert found.dry.litres_a_day[1] == pytest.approx(lost / 1000 * today, rel=0.001)
    spread = found.dry.litres_a_day[2] / found.dry.litres_a_day[0]
    assert spread < K_RANGE[2] / K_RANGE[0]
    # Ten times that is no pot's use but a slip of the pen.
    assert need(pair[0], replace(pair[1], weighed_g=6000 - 10 * lost)).weighings == 0
    # One that was not watered first, or without its second, says nothing.
    assert need(pair[0]).weighings == 0
    assert need(replace(pair[0], watered=False), pair[1]).weighings == 0


def test_it_counts_from_the_last_watering_noted():
    yesterday = need(*notes({"date": "2012-06-30", "watered": "yes"}))
    assert (yesterday.noted, need().noted) == (True, False)
    assert yesterday.likely == pytest.approx(need().likely - 1, abs=0.1)
    long_ago = need(*notes({"date": "2012-05-01", "watered": "yes"}))
    assert not long_ago.noted


def test_a_small_pot_is_looked_at_every_day_when_the_air_is_thirsty():
    small = need(pot={"litres": 2.9, "soil": "peat"}, crown_cm=5)
    assert AIR.day(TODAY).et0_mm > 4.0
    assert small.look <= 1.0


def said(found, told=None):
    """The water of a day in words, its lines joined."""
    told = told or collection({"taxon": "flowering-tree"})
    lines = passage_lines(water_blocks(WaterNow(TODAY, found, AIR, None, ""), told))
    return " ".join(" ".join(lines).split())


def test_what_stands_in_for_what_was_not_told_is_said_once():
    one = replace(need(pot=None, crown_cm=None), tree="tree-1")
    found = [replace(one, tree=f"tree-{n}") for n in range(1, 9)]
    text = said(found)
    assert text.count("No watering is noted of any tree") == 1
    assert text.count("Not told of any tree: crown, pot, soil") == 1
    # Trees of which the same is said stand in one line.
    assert "tree-1, tree-2, tree-3, tree-4, tree-5, tree-6, tree-7, tree-8 (open): likely dry by" in text
    known = need(*notes({"date": "2012-06-30", "watered": "yes"}))
    assert "No watering" not in said([known]) and "Not told" not in said([known])
    assert "No watering is noted of tree-9 in" in said([known, replace(need(), tree="tree-9")])


def test_a_day_further_off_than_a_weekday_can_name_has_its_date():
    far = need()
    shift = 7.2 - far.likely
    later = replace(far, dry=replace(far.dry, likely=far.dry.likely + shift, late=far.dry.late + 30))
    text = said([later])
    assert "likely dry by Sun 8 Jul (" in text and "to after Wed 11 Jul)" in text
    assert "likely dry by Mon evening (" in said([replace(far, dry=replace(far.dry, likely=1.7))])


def test_words_hold_a_range_and_never_say_that_no_look_is_needed():
    text = said([need(), need(crown_cm=10)]).lower()
    assert "a look decides" in text
    assert "l a day (" in text and "from temperature only" in text
    for promise in ("no need", "does not need", "water now", "not needed"):
        assert promise not in text


def test_penman_monteith_where_the_record_has_what_it_takes():
    count = len(RECORD.tmin_c)
    others = {"rh_mean_pct": np.full(count, 70.0), "wind_m_s": np.full(count, 3.0)}
    full = replace(RECORD, others={**others, "solar_mj_m2": np.full(count, 15.0)})
    assert SiteAir(full, None, 50.8, 60.0).from_temperature_only is False
    assert SiteAir(replace(RECORD, others=others), None, 50.8, 60.0).from_temperature_only is True


def test_a_bench_under_cover_gets_no_rain():
    count = len(RECORD.tmin_c)
    wet: WeatherRecord = replace(RECORD, others={"precip_mm": np.full(count, 12.0)})
    air = SiteAir(wet, None, 50.8, 60.0)
    told = collection({"taxon": "flowering-tree"}, {"taxon": "flowering-tree"})
    out, under = needs(told, [], RULES, air, {"tree-1": "open", "tree-2": "shed"}, TODAY)[::-1]
    assert (out.bench, under.bench) == ("open", "shed")
    assert out.likely > under.likely


def test_water_notes_move_no_date_of_the_plan():
    from care_planner.plan import make_plan

    told = collection({"taxon": "flowering-tree"})
    watered = notes({"date": "2012-06-30", "watered": "yes"}, {"date": "2012-06-29", "weighed_g": 900})
    without, with_notes = (make_plan(told, held, RECORD, RULES, TODAY) for held in ([], watered))
    assert with_notes.tasks == without.tasks


def test_softened_water_is_refused_and_hardness_is_called_a_guess():
    softened = " ".join(passage_lines(blend_blocks(WaterFacts(tap=Tap(alkalinity=220, softened=True)))))
    assert "softened water is refused" in softened and "can:" not in softened
    hard = " ".join(passage_lines(blend_blocks(WaterFacts(tap=Tap(hardness_dh=14)))))
    assert "a guess from total hardness" in hard
    text = " ".join(passage_lines(blend_blocks(WaterFacts(tap=Tap(alkalinity=4.396, unit="mmol/l")))))
    assert "tap 220" in text and "2.6 L of tap water" in text


def test_a_larger_barrel_is_never_short_more_often():
    rng = np.random.default_rng(1)
    rain = np.where(rng.random(3000) < 0.2, rng.exponential(8, 3000), 0.0)
    lived = {"roof_m2": 6, "runoff": 0.8, "first_flush": 10}
    found = barrel_years(TODAY, rain.tolist(), [18.0] * 3000, litres=150, **lived)
    short = [found.short_days_a_year, *(days for _, days in found.larger)]
    assert short == sorted(short, reverse=True)
    assert short[0] > short[-1] > 0
    assert {month.month for month in found.months} == set(range(1, 13))
    emptied = barrel_years(
        TODAY, rain.tolist(), [18.0] * 3000, litres=150, empty_months=frozenset({1, 2}), **lived
    )
    assert {month.month for month in emptied.months} == set(range(3, 13))


def test_a_tap_has_one_of_alkalinity_and_hardness():
    from pydantic import ValidationError

    with pytest.raises(ValidationError):
        Tap(alkalinity=220, hardness_dh=14)
    with pytest.raises(ValidationError):
        Tap()


def test_a_daily_round_noted_as_a_work_is_a_watering_too_and_a_check_is_not():
    """Journals of before hold `did: water-round`."""
    way = "opens: {stage: bud-swell}\ncloses: {stage: flush}\nchoose: early\nway: "
    own = (rule("can-round", way + "watch", "water"), rule("pot-check", way + "walk", "water"))
    book = rulebook(pack_text(FLOWERING, CUT, *own))
    for did, noted in (("can-round", True), ("pot-check", False)):
        entries = notes({"date": "2012-06-30", "did": did})
        (found,) = needs(
            collection({"taxon": "flowering-tree"}), entries, book, AIR, {"tree-1": "open"}, TODAY
        )
        assert found.noted is noted


def test_a_work_noted_with_its_watering_still_counts_as_the_work():
    (both,) = notes({"date": "2012-06-30", "did": "cut-back", "watered": "yes"})
    (alone,) = notes({"date": "2012-06-30", "watered": "yes"})
    assert (both.is_aside, alone.is_aside) == (False, True)


def test_no_rain_falls_under_the_eaves():
    wet: WeatherRecord = replace(RECORD, others={"precip_mm": np.full(len(RECORD.tmin_c), 12.0)})
    benches = {"open": {}, "porch": {"stands": "under-eaves"}, "rack": {"stands": "raised"}}
    told = collection(*[{"taxon": "flowering-tree"}] * 3, benches=benches)
    there = {"tree-1": "open", "tree-2": "porch", "tree-3": "rack"}
    by_bench = {
        one.bench: one for one in needs(told, [], RULES, SiteAir(wet, None, 50.8, 60.0), there, TODAY)
    }
    assert by_bench["porch"].likely < by_bench["open"].likely == by_bench["rack"].likely


def test_rain_that_is_only_forecast_moves_no_early_end():
    fallen, told = (
        days(et0=2.0, rain=15.0),
        [replace(one, is_forecast=True) for one in days(et0=2.0, rain=15.0)],
    )
    assert dry_at(POT, told).early == dry_at(POT, days(et0=2.0)).early < dry_at(POT, fallen).early
    assert dry_at(POT, told).likely == dry_at(POT, fallen).likely > dry_at(POT, days(et0=2.0)).likely
    coming = [OutlookDay(TODAY + n, n, 12.0, 1.0, 24.0, 1.0, rain_mm=15.0) for n in range(9)]
    air = SiteAir(
        replace(RECORD, tmin_c=RECORD.tmin_c[:100], tmax_c=RECORD.tmax_c[:100]),
        Outlook("file", TODAY, None, tuple(coming)),
        50.8,
        60.0,
    )
    assert air.day(TODAY + 1).is_forecast and not AIR.day(TODAY).is_forecast


def test_what_it_uses_a_day_is_todays_use_and_not_that_of_the_day_of_watering():
    cool_then_hot = [*days(et0=1.0, count=2), *days(et0=5.0, count=8)]
    at = dry_at(POT, cool_then_hot, today=2)
    assert at.litres_a_day == dry_at(POT, days(et0=5.0)).litres_a_day
    assert at.likely == dry_at(POT, cool_then_hot).likely
    watered = need(*notes({"date": "2012-06-21", "watered": "yes"}))
    assert watered.dry.litres_a_day == need().dry.litres_a_day


def test_what_was_weighed_after_a_prune_is_not_reduced_for_it_again():
    et0 = AIR.day(day("2012-06-30")).et0_mm
    lost = round(1000 * 0.7 * et0 * need().pot.area_m2)
    pair = notes(
        {"date": "2012-06-30", "weighed_g": 6000, "watered": "yes"},
        {"date": "2012-07-01", "weighed_g": 6000 - lost},
    )
    whole = need(*pair).dry.litres_a_day[1]
    before = need(*pair, *notes({"date": "2012-06-29", "did": "cut-back"})).dry.litres_a_day[1]
    after = need(*pair, *notes({"date": "2012-07-01", "did": "cut-back"})).dry.litres_a_day[1]
    assert before == pytest.approx(whole, rel=0.02)
    assert after == pytest.approx(0.6 * whole, rel=0.02)
