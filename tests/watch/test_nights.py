"""When a night is an alarm, what becomes of it, and that silence is never a promise."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.climate.record import WeatherRecord
from care_planner.collection.site import Bench
from care_planner.outlook.watch.bench_sky import BenchNight, bench_night
from care_planner.outlook.watch.night_words import chance_words, source_words, watch_lines, watch_title
from care_planner.outlook.watch.nights import TROUBLE, frost_watch, watches
from care_planner.outlook.watch.read_watches import Written, read_watches
from care_planner.outlook.watch.tell import after_run, untold
from care_planner.outlook.watch.usual import usual_chance
from care_planner.outlook.watch.write_watches import write_watches
from care_planner.years.standing import Stand

TODAY = 740_000
ISSUED = datetime(2027, 1, 13, 6, tzinfo=UTC)
BENCHES = {
    "open": Bench(),
    "pocket": Bench(offset_c=-2.0),
    "shed": Bench(floor_c=2.0),
    "lawn": Bench(stands="ground"),
    "rack": Bench(stands="raised"),
    "porch": Bench(stands="under-eaves"),
}


def tree(bench="open", limit=0.0, name="tree-1", loss="tree"):
    return Stand(name, bench, limit, "hardened", loss)


def outlook(lows, highs=20.0, cloud=math.nan, wind=math.nan):
    """Lows of tomorrow morning on; today's own night has passed."""
    days = [OutlookDay(TODAY, 0, 5.0, 1.4, highs, 1.4, 0.0, cloud, wind)]
    for lead, low in enumerate(lows, start=1):
        days.append(OutlookDay(TODAY + lead, lead, low, 1.4, highs, 1.4, 0.0, cloud, wind))
    return Outlook("file", TODAY, ISSUED, tuple(days))


def tonight(low, *trees, setting="middle", before=None, usual=0.0, **sky):
    standing = {}
    for one in trees or (tree(),):
        standing.setdefault(one.bench, []).append(one)
    return frost_watch(TODAY, standing, BENCHES, outlook([low], **sky), setting, before, usual)


def test_tonight_is_the_low_of_tomorrow():
    found = tonight(-1.0)
    assert (found.day, found.state) == (TODAY, "firm")
    assert found.benches[0].expected_c == -1.0
    assert found.chance == pytest.approx(0.762, abs=0.001)


@pytest.mark.parametrize("setting", TROUBLE)
def test_the_alarm_is_at_the_chance_of_its_setting(setting):
    from statistics import NormalDist

    edge = -NormalDist().inv_cdf(TROUBLE[setting]) * 1.4
    assert tonight(edge - 0.01, setting=setting).is_alarm
    assert tonight(edge + 0.01, setting=setting) is None


@given(st.floats(-10, 10), st.floats(-10, 10))
def test_a_colder_night_is_never_quieter(low, other):
    colder, warmer = sorted((low, other))
    if tonight(warmer) is not None:
        assert tonight(colder) is not None


def test_what_is_more_cautious_never_misses_what_is_bolder():
    for low in np.arange(-4, 8, 0.1):
        called = [
            tonight(float(low), setting=setting) is not None for setting in ("cautious", "middle", "bold")
        ]
        assert called == sorted(called, reverse=True)


def test_each_bench_has_its_own_air():
    found = tonight(
        1.5, tree("open"), tree("pocket", name="tree-2"), tree("shed", name="tree-3"), setting="bold"
    )
    assert [risk.tree for risk in found.risks] == ["tree-2"]
    assert found.risks[0].margin_c == pytest.approx(-0.5)
    assert tonight(-15.0, tree("shed")) is None


@pytest.mark.parametrize(("bench", "colder"), [("lawn", 3.0), ("rack", 1.0), ("porch", 0.0), ("open", 0.0)])
def test_a_clear_still_night_takes_off_what_the_bench_shows_the_sky(bench, colder):
    clear = outlook([4.0], cloud=10.0, wind=1.0).of(TODAY + 1)
    assert bench_night(bench, BENCHES[bench], clear).expected_c == 4.0 - colder
    for cloud, wind in ((60.0, 1.0), (10.0, 4.0)):
        other = outlook([4.0], cloud=cloud, wind=wind).of(TODAY + 1)
        assert bench_night(bench, BENCHES[bench], other).expected_c == 4.0
    untold = bench_night(bench, BENCHES[bench], outlook([4.0]).of(TODAY + 1))
    assert untold.expected_c == 4.0 - colder / 2


def test_a_tree_whose_move_nobody_noted_is_named_where_it_would_freeze():
    """It stands in the shed by the plan and outside for all that is known: both are looked at."""
    doubtful = replace(tree("shed", name="tree-2"), unnoted="in", elsewhere="open")
    found = tonight(-1.0, tree(), doubtful)
    assert [(risk.tree, risk.bench, risk.unnoted) for risk in found.risks] == [
        ("tree-1", "open", ""),
        ("tree-2", "open", "in"),
    ]
    assert watch_title(found, TODAY) == "Frost tonight, 3 in 4: tree-1; if still outside: tree-2"
    lines = list(watch_lines(found, outlook([-1.0])))
    assert lines[2] == "If still outside (no note tells that they went in; note it once they are):"
    out = replace(doubtful, unnoted="out")
    assert watch_title(tonight(-1.0, out), TODAY).endswith(": if out already: tree-2")
    # Where the plan has it is no less dangerous: no more is said of the other place.
    outside = replace(tree("pocket"), unnoted="in", elsewhere="shed")
    assert tonight(-1.0, outside).risks[0].unnoted == ""
    record = WeatherRecord(TODAY - 730, *(np.full(731, low) for low in (-1.0, 9.0, 4.0)))
    assert usual_chance(record, TODAY, {"shed": [doubtful]}, BENCHES) == 1.0
    assert usual_chance(record, TODAY, {"shed": [tree("shed")]}, BENCHES) == 0.0


def test_one_identity_from_possible_to_firm_to_withdrawn():
    standing = {TODAY + ahead: {"open": [tree()]} for ahead in range(5)}
    far = watches(standing, BENCHES, outlook([5.0, 5.0, -1.0]), "middle", {})
    (possible,) = far
    assert (possible.state, possible.day) == ("possible", TODAY + 2)
    later = replace(outlook([5.0, -1.0]), today=TODAY + 1, days=outlook([5.0, 5.0, -1.0]).days)
    (still,) = watches(
        {k + 1: v for k, v in standing.items()}, BENCHES, later, "middle", {possible.key: "possible"}
    )
    last = replace(later, today=TODAY + 2)
    (firm,) = watches(
        {k + 2: v for k, v in standing.items()}, BENCHES, last, "middle", {possible.key: "possible"}
    )
    assert [possible.key, still.key, firm.key] == [possible.key] * 3
    assert (still.state, firm.state) == ("possible", "firm")
    assert tonight(5.0, before="firm").state == "withdrawn"
    assert tonight(5.0, before="withdrawn").state == "withdrawn"
    assert tonight(-1.0, before="withdrawn").state == "firm"


def test_an_alarm_does_not_flicker_at_its_edge():
    assert tonight(1.3) is None
    assert tonight(1.3, before="firm").state == "firm"
    assert tonight(4.0, before="firm").state == "withdrawn"


def test_without_a_forecast_it_says_so_where_frost_is_usual():
    blind = frost_watch(
        TODAY, {"open": [tree()]}, BENCHES, Outlook("file", TODAY, ISSUED), "middle", None, 0.2
    )
    assert (blind.state, blind.is_alarm) == ("blind", True)
    text = " ".join(watch_lines(blind, Outlook("file", TODAY, ISSUED)))
    assert text.startswith("No forecast since Wed 13 Jan")
    assert (
        frost_watch(TODAY, {"open": [tree()]}, BENCHES, Outlook("file", TODAY, None), "middle", None, 0)
        is None
    )


def test_heat_is_called_in_the_morning():
    standing = {TODAY + ahead: {"open": [tree()]} for ahead in range(4)}
    found = watches(standing, BENCHES, outlook([15.0, 15.0, 15.0], highs=36.0), "middle", {})
    assert [(watch.kind, watch.day, watch.state) for watch in found] == [
        ("heat", TODAY, "firm"),
        ("heat", TODAY + 1, "possible"),
        ("heat", TODAY + 2, "possible"),
    ]


def test_a_person_is_called_once_and_once_more_if_it_is_taken_back():
    firm, gone = tonight(-1.0), tonight(5.0, before="firm")
    written, calls = after_run({}, [firm], TODAY, 9)
    assert (calls, written[firm.key]) == ([], Written("firm"))
    written, calls = after_run(written, [firm], TODAY, 13)
    assert calls == [firm]
    written, calls = after_run(written, [firm], TODAY, 15)
    assert calls == []
    written, calls = after_run(written, [gone], TODAY, 16)
    assert calls == [gone]
    assert after_run(written, [gone], TODAY, 17)[1] == []
    assert after_run(written, [firm], TODAY, 18)[1] == [firm]


def test_what_stands_is_remembered_and_nights_long_past_are_not(tmp_path):
    held = {f"watch/frost/{TODAY}": Written("firm", "firm"), f"watch/frost/{TODAY - 20}": Written("firm")}
    write_watches(tmp_path, held, TODAY)
    assert read_watches(tmp_path) == {f"watch/frost/{TODAY}": Written("firm", "firm")}
    (tmp_path / "watches.json").write_text('{"x": 3}', encoding="utf-8")
    assert read_watches(tmp_path) == {}


def test_words_never_promise():
    quiet = [tonight(low, before="firm") for low in (3.9, 8.0, 20.0)]
    for watch in (*quiet, tonight(-1.0), tonight(-8.0)):
        text = " ".join([watch_title(watch, TODAY), *watch_lines(watch, outlook([0.0]))]).lower()
        assert "no frost" not in text and "safe" not in text
    assert "less than 1 in 20" in watch_title(quiet[-1], TODAY)
    text = " ".join(watch_lines(tonight(-1.0), outlook([-1.0])))
    assert "tree-1 bears 0 degC (hardened, roots in a pot); 1.0 degC colder than that is expected" in text
    assert "Doing nothing may cost the tree." in text


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.99, "nearly certain"),
        (0.5, "1 in 2"),
        (0.25, "1 in 4"),
        (0.1, "1 in 10"),
        (0.01, "less than 1 in 20"),
    ],
)
def test_chances_as_people_say_them(chance, words):
    assert chance_words(chance) == words


def test_the_age_of_the_forecast_is_said():
    assert "2 hours old" in source_words(outlook([1.0]), ISSUED + timedelta(hours=2))
    old = source_words(outlook([1.0]), ISSUED + timedelta(hours=12))
    assert "no newer one has come" in old
    weeks = ISSUED + timedelta(days=20)
    assert f"{ISSUED.day} {ISSUED:%b} {ISSUED:%H:%M}, 20 days old" in source_words(outlook([1.0]), weeks)
    metno = replace(outlook([1.0]), service="met-no")
    assert "Data from MET Norway" in source_words(metno, ISSUED)


def test_a_night_ahead_says_what_to_make_ready():
    watch = frost_watch(TODAY + 1, {"open": [tree()]}, BENCHES, outlook([9.0, -6.0]), "middle")
    assert watch.state == "possible"
    assert any("make room under cover" in line for line in watch_lines(watch, outlook([9.0])))


def test_how_often_a_date_has_a_killing_night():
    days = np.arange(TODAY - 3652, TODAY)
    lows = 10 - 12 * np.cos(2 * np.pi * (days - TODAY) / 365.2425)
    record = WeatherRecord(TODAY - 3652, lows, lows + 8, lows + 4, source="r")
    cold = usual_chance(record, TODAY, {"open": [tree()]}, BENCHES)
    assert cold == 1.0
    assert usual_chance(record, TODAY + 182, {"open": [tree()]}, BENCHES) == 0.0
    assert usual_chance(record, TODAY, {"shed": [tree("shed")]}, BENCHES) == 0.0
    assert usual_chance(record, TODAY, {}, BENCHES) == 0.0


def test_until_morning_the_night_under_way_is_watched_first():
    """Read at half past midnight: -4 is this morning's, 8 the next night's."""
    standing = {TODAY + ahead: {"open": [tree()]} for ahead in range(3)}
    held = outlook([8.0, 8.0, 8.0])
    held = replace(held, days=(replace(held.days[0], tmin_c=-4.0), *held.days[1:]))
    assert watches(standing, BENCHES, held, "middle", {}) == ()
    (now,) = watches(standing, BENCHES, held, "middle", {}, under_way=True)
    assert (now.day, now.state, now.benches[0].expected_c) == (TODAY - 1, "firm", -4.0)
    assert now.key == f"watch/frost/{TODAY - 1}"
    assert watch_title(now, TODAY, under_way=True).startswith("Frost this night, until morning, nearly")
    assert watch_title(now, now.day).startswith("Frost tonight, nearly")  # in the calendar, on its own day
    assert any("under way" in line for line in watch_lines(now, held))
    assert watch_title(tonight(-1.0), TODAY, under_way=True).startswith("Frost in the coming night")
    # It calls at once, whatever the hour, and once.
    written, calls = after_run({}, [now], TODAY, 1)
    assert calls == [now] and after_run(written, [now], TODAY, 2)[1] == []


def test_a_call_that_reached_nobody_is_made_again():
    firm = tonight(-1.0)
    written, calls = after_run({}, [firm], TODAY, 13)
    assert calls == [firm]
    written = untold(written, {}, firm)
    assert written[firm.key] == Written("firm", "")
    written, calls = after_run(written, [firm], TODAY, 14)
    assert calls == [firm] and after_run(written, [firm], TODAY, 15)[1] == []


def test_a_forecast_too_old_to_be_quiet_is_told_where_frost_is_usual():
    quiet, cold = outlook([8.0]), outlook([-4.0])
    standing = {"open": [tree()]}
    for old, usual, state in ((quiet, 0.2, "blind"), (quiet, 0.0, None), (cold, 0.2, "firm")):
        found = frost_watch(TODAY, standing, BENCHES, old, "middle", None, usual, is_stale=True)
        assert (found.state if found else None) == state
    assert frost_watch(TODAY, standing, BENCHES, quiet, "middle", None, 0.2) is None
    found = frost_watch(TODAY, standing, BENCHES, quiet, "middle", None, 0.2, is_stale=True)
    assert watch_title(found, TODAY) == "No forecast since Wed 13 Jan: look at another service"
    assert "It said 8.0 degC for this night." in " ".join(watch_lines(found, quiet))


def test_how_often_a_limit_is_reached_without_a_forecast_heeds_how_the_bench_stands():
    """1.5 degC of 3 where no sky is told: nights at 1 degC are -0.5 on grass and 1 under the eaves."""
    record = WeatherRecord(TODAY - 730, *(np.full(731, low) for low in (1.0, 9.0, 4.0)))
    for bench, chance in (("lawn", 1.0), ("rack", 0.0), ("porch", 0.0), ("open", 0.0)):
        assert usual_chance(record, TODAY, {bench: [tree(bench)]}, BENCHES) == chance


def test_what_is_shown_of_a_bench_is_rounded():
    firm = tonight(-1.0)
    for sky, said in ((-5.142857, "5.1 degC of it"), (-2.0, "2 degC of it"), (1.26883e-16, None)):
        shown = replace(firm, benches=(BenchNight("open", -1.0, 1.4, sky),))
        (line, *_) = watch_lines(shown, outlook([-1.0]))
        assert (said in line) if said else ("of it" not in line)


def test_a_withdrawn_night_is_named():
    gone = tonight(5.0, before="firm")
    assert watch_title(gone, TODAY).startswith("Withdrawn: frost tonight is now")
    assert watch_title(gone, TODAY - 1).startswith("Withdrawn: frost tomorrow night is now")
    assert watch_title(gone, TODAY - 2).startswith("Withdrawn: frost on the night of ")
