"""Sentences that a person reads, from tasks made by hand."""

from dataclasses import replace
from datetime import date

import pytest

from care_planner.note.branches import of_branch
from care_planner.rulebook.moment import Moment
from care_planner.show.plan import _months
from care_planner.tasks.agenda import Watch, agenda
from care_planner.tasks.links import (
    CountsOn,
    DayChosen,
    EndsStage,
    ForFacts,
    OnlyIf,
    RuleWhy,
    StageDates,
    WindowEnds,
)
from care_planner.tasks.model import Task, Window
from care_planner.tasks.questions import Missed, Question
from care_planner.tasks.rounds import rounds
from care_planner.typed_yaml.models import Mistake
from care_planner.words.asking import question_words
from care_planner.words.conditions import what_words
from care_planner.words.days import day_words
from care_planner.words.entries import round_lines
from care_planner.words.speaker import Speaker
from care_planner.words.titles import watch_title
from care_planner.words.walks import walk_lines
from care_planner.words.why_now import sentences
from care_planner.years.reasons import AimedAt, AwayThroughout, OtherWork


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


BLOOM_ENDS = StageDates(
    "end-of-bloom", "End of bloom", "69", 2027, "expected",
    day("2027-05-29"), day("2027-05-24"), day("2027-06-02"),
)  # fmt: skip
GROWTH_ENDS = replace(BLOOM_ENDS, stage="end-of-growth", title="Growth ends")
AFTER = WindowEnds(Moment(stage="end-of-bloom"), Moment(stage="end-of-growth"))


@pytest.fixture
def prune() -> Task:
    """A prune after bloom, with a chain of its own."""
    return Task(
        tree="sats-01",
        taxon="satsuki-azalea",
        rule="prune",
        season=2027,
        occurrence=1,
        kind="work",
        title="Prune after bloom",
        day=day("2027-05-30"),
        chance=0.9,
        minutes=30,
        bench="open",
        category="pruning",
        window=Window(day("2027-05-29"), day("2027-05-31"), day("2027-06-05")),
        reasons=(
            DayChosen(day("2027-05-30"), AimedAt("early")),
            RuleWhy("New shoots carry next spring's buds."),
            AFTER,
            BLOOM_ENDS,
            GROWTH_ENDS,
            CountsOn(OtherWork("tag", "planned", day("2027-05-22"))),
        ),
    )


def test_why_now_why_not_earlier_and_what_would_change_it(prune: Task) -> None:
    now, earlier, change = sentences(prune)
    assert now == (
        "Why now: New shoots carry next spring's buds. The time for it is 29 May to 5 Jun in most years. "
        "The day: early in the window, once most weather years have it open."
    )
    assert earlier == "Why not earlier: it waits for: End of bloom, likely between 24 May and 2 Jun."
    assert change == (
        "What would change it: a note of what you see (End of bloom); another day for tag; "
        "a note that it is done or skipped (did prune, skipped prune)."
    )


def test_a_window_of_two_moments_says_from_when_it_opens(prune: Task) -> None:
    both = WindowEnds(Moment(latest=[Moment(stage="end-of-bloom"), Moment(month_day="05-20")]), None)
    told = replace(prune, reasons=tuple(both if link is AFTER else link for link in prune.reasons))
    assert "; before about 29 May it is too soon in most years." in list(sentences(told))[1]


def test_what_was_seen_is_said_as_seen(prune: Task) -> None:
    seen = replace(BLOOM_ENDS, basis="seen", day=day("2027-05-27"))
    told = replace(prune, reasons=tuple(seen if link is BLOOM_ENDS else link for link in prune.reasons))
    assert list(sentences(told))[1] == "Why not earlier: it waits for: End of bloom, seen on 27 May."


def test_nothing_is_argued_of_what_is_done(prune: Task) -> None:
    assert list(sentences(replace(prune, done=True))) == []


def test_one_work_is_one_work(prune: Task) -> None:
    (line,) = _months([replace(prune, day=day("2027-07-04"))])
    assert "1 work:  " in line and "works" not in line
    (line,) = _months([replace(prune, day=day("2027-07-04")), replace(prune, day=day("2027-07-05"))])
    assert "2 works: " in line


def test_a_round_of_one_day_is_done_once(prune: Task) -> None:
    dead_head = replace(prune, title="Dead-head", until=prune.day)
    (work,) = rounds([dead_head])
    told = [
        said.text(day_words) for said in round_lines(work, agenda([dead_head], lambda _: None), Speaker({}))
    ]
    assert "Only one round falls into its time." in told
    assert not any(text.startswith("Every") for text in told)


def test_what_the_weather_decides_begins_and_ends(prune: Task) -> None:
    watch = Watch((replace(prune, title="Look for petal blight"),), 1)
    assert watch_title(watch, False) == "From today: look for petal blight"
    assert watch_title(watch, True) == "Ends today: look for petal blight"


def test_a_question_says_what_to_note() -> None:
    missed = (Missed("Too late to shorten", ("Azalea",), ("a", "b")),)
    asked = Question(
        day("2027-06-13"), "prune", 2027, "Prune after bloom", "Was it pruned?", ("a", "b"),
        day("2027-06-14"), missed,
    )  # fmt: skip
    assert question_words(asked) == (
        "Prune after bloom (2 trees, due by 13 Jun): Was it pruned? If yes, note: did prune. If no, note: "
        "skipped prune. If it was missed: too late to shorten. Trees: a, b."
    )
    # What one kind is told is not told of another.
    maples = Missed("Leaves are out; wait", ("Maple",), ("c",))
    of_two = replace(asked, missed=(*missed, maples), trees=("a", "b", "c"))
    told = "If it was missed: Azalea: too late to shorten. Maple: leaves are out; wait. Trees:"
    assert told in question_words(of_two)
    assert "missed: Azalea: too late to shorten. Trees:" in question_words(replace(of_two, missed=missed))


def test_a_day_with_a_slash_is_no_branch() -> None:
    names, wrong = of_branch(["sats-02", "5/24"], "in bloom", None, None, [])  # type: ignore[arg-type]
    assert names == ("sats-02",)
    assert isinstance(wrong, Mistake) and "--date 2027-05-24" in wrong.allowed


def told(task: Task, *more: Task) -> list[str]:
    """The lines of the first round of some tasks."""
    whole = agenda([task, *more], lambda monday: monday + 5)
    return [said.text(day_words) for said in round_lines(whole.rounds[0], whole, Speaker({}))]


def test_what_hangs_on_another_work_says_so_once(prune: Task) -> None:
    shed = OnlyIf("shelter", "Move into shelter", True)
    first = replace(prune, what="Move the pot out.", reasons=(*prune.reasons, shed))
    other = replace(first, tree="pine-01", reasons=prune.reasons)
    assert told(first)[:2] == ["Move the pot out.", "Only where this was done: move into shelter."]
    assert told(first, other)[:2] == [
        "Move the pot out.",
        "Only where this was done: move into shelter (sats-01).",
    ]
    assert what_words(first) == "Only if move into shelter was done: move the pot out."


def test_a_day_after_its_best_days_says_why(prune: Task) -> None:
    late = replace(prune, day=prune.day + 10, reasons=(DayChosen(prune.day + 10, AwayThroughout()),))
    assert "Nobody is free in its best days; this is the nearest day." in told(late)
    assert not any("Nobody" in text for text in told(prune))


def test_on_one_day_nothing_stands_before_what_it_hangs_on(prune: Task) -> None:
    off = replace(prune, rule="flowers-off", title="Deflower", loss="growth")
    dear = replace(prune, loss="flowers")
    hangs = EndsStage(OtherWork("flowers-off", "planned", prune.day), "end-of-bloom")
    assert [one.rule for one in rounds([off, dear])] == ["prune", "flowers-off"]
    waits = replace(dear, reasons=(*dear.reasons, hangs))
    assert [one.rule for one in rounds([off, waits])] == ["flowers-off", "prune"]
    assert [one.rule for one in rounds([replace(off, tree="sats-02"), waits])] == ["prune", "flowers-off"]


def test_a_walk_is_short_enough_for_a_phone(prune: Task) -> None:
    what = "Look at the buds from below and from above, all round the pot. Then note what you see."
    tasks = [
        replace(prune, tree=f"t-{n:02}", way="walk", rule=f"look-{k}", title=f"Look {k}", what=what)
        for n in range(30)
        for k in range(14)
    ]
    whole = agenda(tasks, lambda monday: monday + 5)
    lines = [said.text(day_words) for said in walk_lines(whole.walks[0], whole, Speaker({}))]
    assert lines[0].startswith("open: look 0 (t-00, t-01") and "and 22 more" in lines[0]
    assert [line.count(".") for line in lines[1:]] == [2] * 5 + [1] * 5


@pytest.mark.parametrize(("days_after", "goes_on"), [(12, True), (11, False)])
def test_a_work_goes_on_until_its_last_day_and_not_on_the_walk_after(
    prune: Task, days_after: int, goes_on: bool
) -> None:
    monday = prune.day - date.fromordinal(prune.day).weekday()
    rounds_of = replace(prune, day=monday, until=monday + days_after, title="Dead-head")
    look = replace(prune, way="walk", rule="look", title="Look", day=monday + 9)
    whole = agenda([rounds_of, look], lambda first: first + 5)  # on the Saturday, twelve days on
    told = [said.text(day_words) for said in walk_lines(whole.walks[0], whole, Speaker({}))]
    assert any(text.startswith("Goes on: dead-head") for text in told) is goes_on


def test_a_watch_that_was_on_before_goes_on(prune: Task) -> None:
    cover = replace(prune, title="Frost cover", until=prune.day + 40)
    assert watch_title(Watch((cover,), 1), False) == "From today: frost cover"
    early = replace(cover, window=replace(cover.window, opens=cover.day - 20))
    assert watch_title(Watch((early,), 1), False) == "Goes on: frost cover"


def test_what_was_told_of_the_tree_is_named_as_what_would_change_it(prune: Task) -> None:
    told = replace(prune, reasons=(*prune.reasons, ForFacts((("age", "young"), ("goal", "flowers")))))
    (change,) = [one for one in sentences(told) if one.startswith("What would change it")]
    assert "the age, if it is no longer young; the goal, if it is no longer flowers; " in change
