"""The line that says which weather a plan goes by: it agrees with `frost`, and names what stood beside it."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from care_planner.folder.read_folder import Inputs, read_folder
from care_planner.show.frost import frost_lines
from care_planner.show.one_weather import one_weather_lines

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
TODAY = date(2027, 3, 1).toordinal()


@pytest.fixture(scope="module")
def inputs() -> Inputs:
    return read_folder(EXAMPLE, date(2027, 3, 1))


def said(inputs: Inputs) -> str:
    return " ".join(" ".join(one_weather_lines(inputs, TODAY)).split())


def test_it_names_the_weather_and_agrees_with_the_table_of_nights(inputs: Inputs) -> None:
    text = said(inputs)
    assert text.startswith(
        "Weather: 33 years of weather.csv.gz, old ones moved up along their own +0.46 degC"
    )
    table = list(frost_lines(inputs, TODAY))
    row = next(
        line
        for line in table[table.index(next(t for t in table if t.startswith("open"))) :]
        if "last night <= 0 degC" in line
    )
    in_ten = re.findall(r"\d+ [A-Z][a-z]{2}", row)[1]
    assert f"frost (0 degC) on or after {in_ten};" in text
    assert "with the years as they were" in text and "by monthly means" in text


def test_the_other_way_round_where_the_warming_stays_in(inputs: Inputs) -> None:
    site = inputs.collection.site.model_copy(update={"take_out_warming": False})
    other = said(replace(inputs, collection=inputs.collection.model_copy(update={"site": site})))
    date_of = re.compile(r"on or after (\d+ \w+); with the years (?:as they were|moved up) (\d+ \w+)")
    ours, theirs = (date_of.search(text) for text in (said(inputs), other))
    assert ours is not None and theirs is not None
    assert ours.groups() == theirs.groups()[::-1] and ours[1] != ours[2]
    assert "as they were, though they warmed by" in other


def test_a_short_record_says_that_no_warming_is_sure_and_monthly_means_that_they_are_rough(
    inputs: Inputs,
) -> None:
    record = inputs.record
    cut = slice(len(record.tmin_c) - 12 * 366, None)
    short = replace(
        record,
        first_day=record.first_day + cut.start,
        **{name: getattr(record, name)[cut] for name in ("tmin_c", "tmax_c", "tmean_c")},
    )
    text = said(replace(inputs, record=short))
    assert "no warming in them that chance alone would not make" in text and "moved up" not in text
    rough = said(replace(inputs, record=replace(record, kind="monthly")))
    assert rough.startswith("Weather: twelve monthly means") and "by monthly means" not in rough
