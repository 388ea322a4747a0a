"""tonight, replay and water as a person runs them."""

import gzip
import shutil
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pendulum
import pytest
from click.testing import CliRunner

from care_planner.cli import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
DAY = date(2023, 11, 14)


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(EXAMPLE, tmp_path / "g", ignore=shutil.ignore_patterns("calendar"))
    text = (tmp_path / "g" / "collection.yaml").read_text(encoding="utf-8")
    trees = text.index("trees:")
    keep = [line for line in text[trees:].splitlines() if "pine-02" in line]
    head = text[:trees] + "forecast: {service: file, file: forecast.csv}\n"
    one = "trees:\n  - {id: pine-02, taxon: japanese-black-pine, bench: open, age: young, goal: vigour}\n"
    assert keep
    (tmp_path / "g" / "collection.yaml").write_text(head + one, encoding="utf-8")
    shutil.rmtree(tmp_path / "g" / "journal")
    return tmp_path / "g"


def forecast(folder, lows, issued=DAY):
    rows = ["issued,date,tmin_c,tmax_c"]
    rows += [f"{issued}T06:00+09:00,{issued + timedelta(days=n)},{low},12" for n, low in enumerate(lows)]
    (folder / "forecast.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


def run(*words, code=0):
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == code, done.output
    return done.output


def flat(text):
    return " ".join(text.split())


def test_tonight_names_the_tree_its_limit_and_what_to_do(folder):
    forecast(folder, [3, -6.5, 2, 2])
    said = flat(run("tonight", folder, "--today", DAY))
    assert "Frost tonight, 9 in 10: pine-02" in said
    assert "open: a low of -6.5 degC, give or take 1.4" in said
    assert "pine-02 bears -5 degC (young); 1.5 degC colder than that is expected" in said
    assert "Doing nothing may cost the tree." in said
    assert "Tomorrow night: nothing called for. Low of 2.0 degC expected" in said
    assert "no frost" not in said.lower()


def test_without_a_forecast_of_tonight_it_says_since_when(folder):
    forecast(folder, [3, 4], issued=DAY - timedelta(days=5))
    run("tonight", folder)
    said = flat(run("tonight", folder, "--today", DAY))
    assert "no forecast since Thu 9 Nov" in said or "No forecast since Thu 9 Nov" in said


def test_a_bias_that_is_taken_off_is_told(folder):
    """The example's own lows, each forecast 2 degC too warm a day ahead."""
    with gzip.open(folder / "weather.csv.gz", "rt", encoding="utf-8") as text:
        table = [line.split(",") for line in text if not line.startswith("#")]
    low = table[0].index("tmin_c")
    days = [
        (date.fromisoformat(row[0]), row[low]) for row in table[1:] if row[0] < "2023-11-14" and row[low]
    ][-40:]
    rows = [f"{day - timedelta(1)}T12:00,{day},{float(came) + 2},30\n" for day, came in days]
    rows.append(f"{DAY}T06:00,{DAY + timedelta(1)},3,12\n")
    (folder / "forecast.csv").write_text("issued,date,tmin_c,tmax_c\n" + "".join(rows), encoding="utf-8")
    said = flat(run("tonight", folder, "--today", DAY))
    assert "Tonight: nothing called for. Low of 1.0 degC expected" in said
    assert "2.0 degC taken off the forecast low: by 40 nights compared with what came" in said


def test_nothing_is_said_of_tonight_where_no_forecast_is_chosen():
    assert "No forecast is chosen" in run("tonight", EXAMPLE, "--today", "2027-03-01")


def test_a_forecast_that_lacks_what_it_needs_is_told_with_its_line(folder):
    path = folder / "collection.yaml"
    text = path.read_text(encoding="utf-8")
    line = text[: text.index("forecast:")].count("\n") + 1
    for bad, words in (
        ("{service: met-no}", "contact is missing for met-no; needed: a mail or web address of yours"),
        ("{service: dwd-mosmix}", "station is missing for dwd-mosmix"),
        (
            "{service: metno, contact: x}",
            "forecast.service is 'metno'; did you mean met-no?",
        ),
        ("{service: file, file: a.csv, station: 10315}", "station is no key of file"),
    ):
        path.write_text(text.replace("{service: file, file: forecast.csv}", bad), encoding="utf-8")
        said = run("check", folder, code=2)
        assert f"collection.yaml:{line}: " in said and words in said, said


def test_a_forecast_moves_the_dates_of_this_week_and_is_named(folder):
    cold, warm = [-3.0] * 11, [14.0] * 11
    plans = []
    for lows in (cold, warm):
        rows = ["issued,date,tmin_c,tmax_c"]
        start = date(2024, 3, 20)
        rows += [
            f"{start}T06:00+09:00,{start + timedelta(days=n)},{low},{low + 8}" for n, low in enumerate(lows)
        ]
        (folder / "forecast.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
        shutil.rmtree(folder / "weather", ignore_errors=True)
        run("tonight", folder)
        plans.append(run("why", folder, "pine-02", "spring-feed", "--today", start))
    assert plans[0] != plans[1]
    assert "the next days by the forecast (a file of the folder)" in flat(plans[0])


def test_a_season_is_lived_again_and_counted(folder):
    said = run("replay", folder, "--season", "2021", "--setting", "cautious", "--every", "60")
    assert "nights                                       365" in said
    assert "shown by 16 h on a phone, every 24 h" in said
    other = run("replay", folder, "--season", "2021", "--setting", "cautious", "--every", "60")
    assert other == said


def test_water_says_what_it_rests_on(folder):
    said = flat(run("water", folder, "--today", "2023-07-10"))
    assert "(measured)" in said
    assert "pine-02 (open): likely dry by" in said
    assert "crown, pot, soil. The usual for its size is taken" in said
    run("note", folder, "pine-02", "weighed 4.21 kg watered", "--date", "2023-07-09")
    assert "no watering is noted" not in flat(run("water", folder, "--today", "2023-07-10"))


@pytest.mark.parametrize(("grams", "why"), [(4300, "it weighed no less"), (900, "it lost more than any pot")])
def test_weights_that_cannot_be_are_told_and_not_used(folder, grams, why):
    run("note", folder, "pine-02", "weighed 4.21 kg watered", "--date", "2023-07-09")
    run("note", folder, "pine-02", f"weighed {grams} g", "--date", "2023-07-10")
    said = flat(run("water", folder, "--today", "2023-07-10"))
    assert f"weights of pine-02 on Sun 9 Jul and the day after are not used: {why}" in said


def test_the_feed_has_the_night_and_keeps_it_as_one(folder, monkeypatch):
    afternoon = pendulum.parse("2027-01-15T15:00+09:00")
    monkeypatch.setattr(pendulum, "now", lambda zone="UTC": afternoon.in_timezone(zone))
    today = afternoon.date()
    told = folder.parent / "told.txt"
    config = folder / "collection.yaml"
    alarm = f"alarm: {{command: [/bin/sh, -c, 'cat >> {told}']}}\n"
    config.write_text(alarm + config.read_text(encoding="utf-8"), encoding="utf-8")
    seen = []
    for low in (-12, 6):
        forecast(folder, [2, low, 5, 5], issued=today)
        run("plan", folder)
        events = icalendar.Calendar.from_ical((folder / "calendar" / "all.ics").read_bytes()).walk("VEVENT")
        seen.append([e for e in events if "frost" in str(e["SUMMARY"]).lower() and e.start == today])
    (first,), (second,) = seen
    assert "Frost tonight, nearly certain: pine-02" in first["SUMMARY"]
    assert second["SUMMARY"].startswith("Withdrawn")
    assert first["UID"] == second["UID"]
    assert "Frost tonight" in told.read_text(encoding="utf-8")
