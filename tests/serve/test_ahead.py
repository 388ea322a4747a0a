"""Pages of the days to come: the next nights, water, the show; whose trees they hold, what they lead to."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from example_copy import copied
from serving import Served, clock, serving

from care_planner.serve.ahead import Ahead, ahead_blocks, ahead_of
from care_planner.serve.scope import Scope

TOLD = """\
forecast: {service: file, file: f.csv}
show: {date: 2027-06-02, trees: [sats-02]}
water:
  tap: {alkalinity: 220, unit: mg/l}
  barrel: {litres: 200, roof_m2: 20}
people:"""


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = copied(tmp_path_factory.mktemp("ahead") / "trees")
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    # Three trees are enough, and quicker planned than twelve.
    head, _, trees = text.partition("trees:\n")
    kept = re.findall(r"  - \{id: (?:sats-01|sats-02|maple-01),[^}]*\{[^}]*\}\}\n", trees)
    text = f"{head}trees:\n{''.join(kept)}".replace("people:", TOLD, 1)
    text = text.replace("{id: sats-02,", "{id: sats-02, frost_limit_c: 5,")
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    now = clock("Asia/Seoul")
    rows = [
        f"{now - timedelta(hours=3):%Y-%m-%dT%H:%M},{now.date() + timedelta(n)},{low},20,{8 * n}"
        for n, low in enumerate([9, 4, 12, 12])
    ]
    (folder / "f.csv").write_text(
        "\n".join(["issued,date,tmin_c,tmax_c,rain_mm", *rows, ""]), encoding="utf-8"
    )
    with serving(folder.parent, folder) as served:
        yield served


@pytest.fixture(scope="module")
def link(served: Served) -> str:
    return served.link("anna")


def test_the_first_page_says_what_tonight_calls_for_and_leads_there(served: Served, link: str) -> None:
    text = served.get(link + "/").text
    alarm = re.search(r'<p class="card late"><a href="([^"]+)"><strong>([^<]+)</strong>', text)
    assert alarm is not None and alarm[1].endswith("/nights")
    assert alarm[2].startswith("Frost tonight, 3 in 4: sats-02")
    for part in ("nights", "water", "show"):
        assert f'href="{link}/{part}"' in text and served.get(f"{link}/{part}").status_code == 200


def test_the_nights_say_what_to_do_and_how_old_the_forecast_is(served: Served, link: str) -> None:
    text = served.get(link + "/nights").text
    for words in ("3 hours old", "sats-02 bears 5 degC (the limit you told)", "Before dusk:", "may cost"):
        assert words in text
    assert "Rain: Sun 30 May 8 mm, Mon 31 May 16 mm" in text
    assert "Tomorrow night: nothing called for" in text and "no frost" not in text.lower()


def test_water_and_show_say_what_the_commands_say(served: Served, link: str) -> None:
    water = served.get(link + "/water").text
    assert "A look decides" in water and "Look by" in water
    assert "Rain barrel of 200 L" in water and "2.6 L of tap water" in water
    assert "care-planner" not in water and "{litres" not in water
    assert "write “watered” under “A few words”." in water
    show = served.get(link + "/show").text
    assert "the show of Wed 2 Jun" in show and "sats-02: as wanted in" in show


def test_a_link_shows_its_own_trees_alone(served: Served) -> None:
    one = served.link("one", tree="maple-01")
    assert "sats-02" not in served.get(one + "/").text + served.get(one + "/nights").text
    water = served.get(one + "/water").text
    assert "maple-01" in water and "sats-0" not in water
    assert "Rain barrel" not in water and "Lime" not in water
    assert served.get(one + "/show").status_code == 404 and "/show" not in served.get(one + "/").text
    looks = served.link("looks", work="look")
    assert {served.get(f"{looks}/{part}").status_code for part in ("nights", "water", "show")} == {404}
    assert "/nights" not in served.get(looks + "/").text


def test_what_a_person_wrote_stays_text(served: Served, link: str) -> None:
    for part in ("nights", "water", "show"):
        text = served.get(f"{link}/{part}").text
        assert "<script>" not in text and text.count("<h1>") == 1


def test_without_a_forecast_the_page_says_whom_to_ask(served: Served) -> None:
    view = replace(served.planner.view, tonight=None, blooms=())
    trees, now = frozenset({"sats-02"}), clock("Asia/Seoul")
    (only,) = ahead_blocks(view, "nights", Scope(), trees, now) or ()
    assert "No forecast is chosen" in only.title and "Ask the owner of the folder" in only.title
    assert ahead_blocks(view, "show", Scope(), trees, now) is None
    assert ahead_of(view, trees, now) == Ahead((("nights", "Nights and rain"), ("water", "Water")), ())
