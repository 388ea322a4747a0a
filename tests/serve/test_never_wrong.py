"""Ordinary handling of a page writes no wrong fact, and loses no note: in a real browser."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from browsing import PHONE, Running, browsing, running
from example_copy import A_FEW, copied


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with browsing() as browser:
        yield browser


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    place = tmp_path_factory.mktemp("never")
    with running(place, copied(place / "trees", A_FEW)) as server:
        yield server


def open_looks(page: Any) -> None:
    page.locator("#looks > summary").tap()


def phone(browser: Any, **options: Any) -> Any:
    context = browser.new_context(**PHONE, **options)
    context.set_default_timeout(40_000)
    return context.new_page()


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
@pytest.mark.parametrize("path", ["/", "/trees/sats-02"])
def test_enter_in_a_field_presses_no_button_but_its_own(
    browser: Any, server: Running, path: str, script: bool
) -> None:
    before = server.journal()
    link, words = server.link("anna"), f"some leaves yellow {path.strip('/')} {script}"
    page = phone(browser, java_script_enabled=script)
    for kind in ("text", "date", "checkbox"):
        page.goto(link + path)
        field = page.locator(f"input[type={kind}]").first
        if field.count() == 0:
            continue
        field.evaluate("e => { for (let d = e; d; d = d.parentElement) if ('open' in d) d.open = true; }")
        if kind == "text":
            field.fill(words)
            choose = field.locator("xpath=ancestor::form//select[@name='tree']")
            if choose.count():
                choose.first.select_option(index=1)
        field.press("Enter")
        page.wait_for_timeout(500)
    added = server.journal().removeprefix(before)
    assert "did:" not in added and "saw:" not in added and "skipped:" not in added, added
    if path != "/":
        assert added.count("some leaves yellow") == 1  # words were noted as words
    page.context.close()


def test_one_tap_on_a_look_answers_for_one_tree(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/")
    open_looks(page)
    look = page.locator("article.look").filter(has=page.locator("summary", has_text="for all")).first
    assert look.locator("input:checked").count() == 0
    before = server.journal()
    look.get_by_role("button", name=re.compile("^Not yet")).first.tap()
    page.get_by_role("status").first.wait_for()
    added = server.journal().removeprefix(before).splitlines()
    assert len(added) == 1 and re.search(r"tree: [a-z0-9-]+[,}]", added[0]), added
    page.context.close()


def test_the_same_for_all_names_the_number_before_it_is_pressed(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/")
    open_looks(page)
    look = page.locator("article.look").filter(has=page.locator("summary", has_text="for all")).first
    trees = look.locator(".answers-by-tree li").count()
    everyone = look.get_by_role("button", name=f"Not yet on any of the {trees} trees")
    assert not everyone.is_visible()
    look.locator("summary", has_text=f"The same for all {trees}").tap()
    everyone.tap()
    page.get_by_text(re.compile("Noted: ")).first.wait_for()
    page.context.close()


def test_nothing_is_chosen_before_somebody_chooses(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/trees/sats-02")
    before = server.journal()
    for name in ("stage", "rule"):
        assert page.locator(f"select[name={name}]").first.input_value() == ""
    assert page.locator("input:checked, input[type=range]").count() == 0
    groups = page.locator("select[name=rule] optgroup").evaluate_all("all => all.map(one => one.label)")
    assert groups[0] == "Planned about now"
    page.get_by_role("group", name="Work").get_by_role("button", name="Done", exact=True).tap()
    page.get_by_text("No work was chosen").wait_for()
    assert server.journal() == before
    page.context.close()


def test_what_is_noted_is_told_and_can_be_undone_after_a_restart(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/trees/sats-03")
    page.locator("select[name=rule]").select_option("lace-bug-look")
    page.get_by_role("group", name="Work").get_by_role("button", name="Done", exact=True).tap()
    said = page.get_by_role("status").get_by_text(re.compile(r"Noted: sats-03: .*done, Sat 29 May"))
    said.first.wait_for()
    assert page.get_by_role("status").get_by_role("button", name="Undo").is_visible()
    server.stop()
    server.start()
    server_is_ready(page, link + "/trees/sats-03")
    line = page.locator(".entries li").filter(has_text="lace bug").first
    line.get_by_role("button", name="Undo").tap()
    page.get_by_text(re.compile("Taken back: sats-03")).wait_for()
    assert page.get_by_role("status").get_by_role("button", name="Undo").count() == 0
    assert "takes_back" in server.journal()
    page.goto(link + "/trees/sats-03")
    assert page.locator(".entries li").filter(has_text="lace bug").count() == 0
    other = phone(browser)
    other.goto(server.link("ben") + "/trees/sats-03")
    assert other.locator(".entries").get_by_role("button", name="Undo").count() == 0
    page.context.close()


def server_is_ready(page: Any, address: str) -> None:
    for _ in range(60):
        page.goto(address)
        if page.locator(".entries").count():
            return
        page.wait_for_timeout(500)
    raise AssertionError("no plan")


def test_a_mistake_in_the_owners_files_refuses_no_note(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/trees/sats-02")
    path = server.folder / "collection.yaml"
    good = path.read_text(encoding="utf-8")
    path.write_text(good + "oops: [\n", encoding="utf-8")
    page.locator("#words-tree").fill("a snail")
    page.get_by_role("button", name=re.compile("[Ww]ords")).first.tap()
    page.get_by_text(re.compile("Noted.*a snail")).first.wait_for()
    assert "a snail" in server.journal()
    path.write_text(good, encoding="utf-8")
    page.context.close()


def test_the_page_of_a_doubt_says_what_and_why(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/trees/sats-01")
    steps = page.get_by_role("group", name=re.compile("flowers are open"))
    steps.get_by_role("button", name=re.compile("three quarters")).tap()
    page.get_by_text(re.compile("Noted: sats-01: 75 % of the flowers open, Sat 29 May")).first.wait_for()
    page.goto(link + "/trees/sats-01")
    page.get_by_text("Another day", exact=True).tap()
    page.locator("#on-tree").fill("2027-05-28")
    steps.get_by_role("button", name=re.compile("all")).tap()
    page.get_by_role("heading", name="Is that right?").wait_for()
    asked = page.locator("main").inner_text()
    assert "sats-01: 100 % of the flowers open, Fri 28 May" in asked
    assert "75% open was noted on 2027-05-29" in asked
    page.get_by_role("button", name="It is right: note it").tap()
    page.get_by_text(re.compile("Noted: sats-01: 100 % of the flowers open, Fri 28 May")).first.wait_for()
    page.context.close()


# Days only pass: a journal of tomorrow would be a mistake.
def test_a_page_left_open_over_midnight_notes_the_day_of_the_tap(browser: Any, server: Running) -> None:
    link = server.link("anna")
    page = phone(browser)
    page.goto(link + "/trees/sats-02")
    server.set_time("2027-05-30T01:00:00+00:00")
    page.locator("#words-tree").fill("moss on the trunk")
    page.locator("#words-tree").locator("xpath=ancestor::form").get_by_role(
        "button", name=re.compile("words")
    ).first.tap()
    page.get_by_text("moss on the trunk").first.wait_for()
    line = next(line for line in server.journal().splitlines() if "moss on the trunk" in line)
    assert "date: 2027-05-30" in line
    page.context.close()


def test_a_page_two_days_old_asks_and_keeps_the_words(browser: Any, server: Running) -> None:
    link = server.link("anna")
    server.set_time("2027-05-30T01:00:00+00:00")
    page = phone(browser, java_script_enabled=False)
    page.goto(link + "/trees/sats-02")
    page.locator("#words-tree").fill("three shoots broken")
    server.set_time("2027-06-01T01:00:00+00:00")
    page.get_by_role("button", name=re.compile("[Ww]ords")).first.tap()
    page.get_by_role("heading", name="Note it now?").wait_for()
    assert "three shoots broken" not in server.journal()
    page.get_by_role("button", name=re.compile("It was on Sun 30 May")).tap()
    page.get_by_text(re.compile("Noted: sats-02: .three shoots broken., Sun 30 May")).first.wait_for()
    line = next(line for line in server.journal().splitlines() if "three shoots broken" in line)
    assert "date: 2027-05-30" in line
    page.context.close()
