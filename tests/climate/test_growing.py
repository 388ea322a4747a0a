"""A CSV that a station of one's own adds to: new rows only, bad rows told, no day ever lost."""

from datetime import date

import numpy as np
import pytest

from care_planner.climate import write_growing
from care_planner.climate.write_growing import take_new_rows

HEADER = "date,tmin_c,tmax_c,precip_mm\n"


@pytest.fixture
def garden(tmp_path):
    path = tmp_path / "garden.csv"
    path.write_text(HEADER + "2027-01-01,1,5,0\n2027-01-02,2,6,1.5\n", encoding="utf-8")
    return path


def take(path, today=date(2027, 1, 10)):
    return take_new_rows(path, path.name, path.parent / "weather", today)


def test_new_rows_join_the_old_and_only_they_are_read(garden, monkeypatch):
    record, told, problems = take(garden)
    assert (len(record.tmin_c), told, problems) == (2, ["garden.csv: 2 new days"], [])
    read = []
    good_rows = write_growing.good_rows
    monkeypatch.setattr(write_growing, "good_rows", lambda text, *a: read.append(text) or good_rows(text, *a))
    with garden.open("a", encoding="utf-8") as file:
        file.write("2027-01-03,3,7,0\n")
    record, told, _ = take(garden)
    assert read == [HEADER + "2027-01-03,3,7,0\n"]
    assert told == ["garden.csv: 1 new day"]
    np.testing.assert_array_equal(record.tmin_c, [1, 2, 3])
    np.testing.assert_array_equal(record.others["precip_mm"], [0, 1.5, 0])
    assert take(garden)[1] == []


def test_a_bad_new_row_is_a_warning_with_its_line_and_a_gap(garden):
    take(garden)
    with garden.open("a", encoding="utf-8") as file:
        file.write("2027-01-03,x,7,0\n2027-01-04,99,100,0\n2027-01-05,4,8,0\n")
    record, told, problems = take(garden)
    assert problems == []
    assert told[0] == "garden.csv: 1 new day"
    assert told[1].startswith("garden.csv:4: tmin_c is 'x', not a number")
    assert told[1].endswith("this day is taken as missing")
    assert told[2].startswith("garden.csv:5: tmin_c is 99, which cannot be")
    np.testing.assert_array_equal(record.tmin_c, [1, 2, np.nan, np.nan, 4])


def test_a_row_that_is_being_written_waits(garden):
    with garden.open("a", encoding="utf-8") as file:
        file.write("2027-01-03,3,1")
    assert len(take(garden)[0].tmin_c) == 2
    with garden.open("a", encoding="utf-8") as file:
        file.write("4,0\n")
    np.testing.assert_array_equal(take(garden)[0].tmax_c, [5, 6, 14])


def test_a_new_file_of_a_new_year_loses_no_day(garden):
    take(garden)
    garden.write_text(HEADER + "2027-01-03,3,7,0\n", encoding="utf-8")
    np.testing.assert_array_equal(take(garden)[0].tmin_c, [1, 2, 3])
    garden.unlink()
    record, told, problems = take(garden)
    assert (len(record.tmin_c), problems) == (3, [])
    assert told[0].endswith("the rows read before are used")


def test_a_day_corrected_later_counts_as_it_stands_last(garden):
    with garden.open("a", encoding="utf-8") as file:
        file.write("2027-01-01,-1,5,0\n")
    np.testing.assert_array_equal(take(garden)[0].tmin_c, [-1, 2])


def test_a_header_that_cannot_be_used_is_a_mistake(garden):
    garden.write_text("day,low,high\n2027-01-01,1,5\n", encoding="utf-8")
    record, _, problems = take(garden)
    assert record is None
    assert problems[0].file == "garden.csv" and problems[0].line == 1
    garden.write_text(HEADER, encoding="utf-8")
    assert "no usable day" in take(garden)[2][0].what


def append(path, *rows):
    with path.open("a", encoding="utf-8") as file:
        file.writelines(row + "\n" for row in rows)


def test_a_day_after_today_is_refused_with_its_line_until_it_has_come(garden):
    append(garden, "2072-01-03,3,7,0", "2027-01-11,9,12,0", "2027-01-03,4,8,0")
    after = "which is after today; allowed: 2027-01-10 or earlier: this day is taken as missing"
    for told_first in (["garden.csv: 3 new days"], []):
        record, told, problems = take(garden)
        assert problems == []
        assert told == [
            *told_first,
            f"garden.csv:4: dated 2072-01-03, {after}",
            f"garden.csv:5: dated 2027-01-11, {after}",
        ]
        np.testing.assert_array_equal(record.tmin_c, [1, 2, 4])
    record, told, _ = take(garden, date(2027, 1, 11))
    assert told[0] == "garden.csv: 1 new day" and len(told) == 2
    assert (len(record.tmin_c), record.tmin_c[-1]) == (11, 9)
    garden.write_text(garden.read_text(encoding="utf-8").replace("2072-01-03,3,7,0\n", ""), encoding="utf-8")
    assert take(garden, date(2027, 1, 11))[1] == ["garden.csv: 0 new days"]
    assert take(garden, date(2027, 1, 11))[1] == []


def test_a_store_that_ends_after_today_heals(garden):
    append(garden, "2072-01-03,3,7,0")
    take(garden, date(2072, 1, 4))  # the machine's clock was wrong once, or an older program took the row
    store = garden.parent / "weather" / "growing" / "garden-csv.csv"
    assert "2072" in store.read_text(encoding="utf-8")
    garden.write_text(
        garden.read_text(encoding="utf-8").replace("2072-01-03", "2027-01-03"), encoding="utf-8"
    )
    record, _, problems = take(garden)
    assert problems == []
    np.testing.assert_array_equal(record.tmin_c, [1, 2, 3])
    assert "2072" not in store.read_text(encoding="utf-8")
    assert take(garden)[1] == []


def test_an_empty_cell_takes_nothing_away(garden):
    take(garden)
    append(garden, "2027-01-01,,,", "2027-01-02,,9,", "2027-01-03,3,7,", "2027-01-03,,,2.5")
    record, _, _ = take(garden)
    np.testing.assert_array_equal(record.tmin_c, [1, 2, 3])
    np.testing.assert_array_equal(record.tmax_c, [5, 9, 7])
    np.testing.assert_array_equal(record.others["precip_mm"], [0, 1.5, 2.5])


def test_a_high_that_is_under_the_low_known_before_changes_nothing(garden):
    take(garden)
    append(garden, "2027-01-02,,1,0")
    record, _, _ = take(garden)
    np.testing.assert_array_equal((record.tmin_c, record.tmax_c), [[1, 2], [5, 6]])


def test_a_day_told_twice_with_different_values_says_which_counts(garden):
    append(garden, "2027-01-03,3,7,0", "2027-01-03,3,7,0", "2027-01-02,2,6.5,0")
    record, told, _ = take(garden)
    assert told == [
        "garden.csv: 3 new days",
        "garden.csv:6: 2027-01-02 stands in the file more than once with different values; the last ones "
        "count",
    ]
    np.testing.assert_array_equal(record.tmax_c, [5, 6.5, 7])
    append(garden, "2027-01-01,-4,5,0")
    record, told, _ = take(garden)
    assert told[1:] == [
        "garden.csv: 2027-01-01 was read before with other values; what stands there now counts"
    ]
    np.testing.assert_array_equal(record.tmin_c, [-4, 2, 3])


def test_yesterday_may_have_gone_on_since_it_was_read(garden):
    take(garden, date(2027, 1, 2))
    append(garden, "2027-01-02,-4,7,0")
    assert take(garden, date(2027, 1, 3))[1] == ["garden.csv: 0 new days"]
