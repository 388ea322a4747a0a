"""Figures that stand in sentences of the README and the manual, each taken from where it is decided.

`figures.py` rewrites them in place; the tests fail where one is stale, and where a number stands in the text
that is not made here.
"""

import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner
from icalendar import Calendar

from care_planner.cli import main as care_planner
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.serve.notebook import JOURNAL_OCTETS, NOTES_AT_ONCE, SECONDS_A_NOTE
from care_planner.serve.patient_server import REQUEST_S, SHARE_OF_ONE_ADDRESS
from care_planner.serve.photo import LONGEST_SIDE
from care_planner.serve.photo_routes import PHOTO_OCTETS
from care_planner.serve.run_server import CONNECTIONS
from care_planner.tasks.drafts import DONE_SHOWN_DAYS

PROJECT = Path(__file__).parents[2]
README = PROJECT / "README.md"
MANUAL = PROJECT / "care_planner" / "manual"
PAGES = (README, *sorted(page for page in MANUAL.glob("*.md") if page.stem != "figures"))


@dataclass(frozen=True)
class TextFigure:
    """A sentence with a gap for each figure ({}), where it stands, and what fills the gaps."""

    page: Path
    sentence: str
    values: Callable[[], tuple[str, ...]]

    def pattern(self) -> re.Pattern[str]:
        """The sentence with any number in its gaps."""
        words = [re.escape(part).replace(r"\ ", r"\s+") for part in self.sentence.split("{}")]
        return re.compile(r"(\d+(?:\.\d+)?)".join(words))


def _spread() -> tuple[str, ...]:
    rulebook, _ = read_rulebook()
    shares = [rules.taxon.pace.spread for rules in rulebook.taxa.values()]
    return f"{min(shares) * 100:.0f}", f"{max(shares) * 100:.0f}"


def _python() -> tuple[str, ...]:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return (project["requires-python"].removeprefix(">="),)


FIGURES = (
    TextFigure(README, "with Python {} or newer, in a copy", _python),
    TextFigure(README, "take Python {} or newer from", _python),
    TextFigure(README, "Trees of one kind differ by {} to {} % in the warmth they need", _spread),
    TextFigure(MANUAL / "journal.md", "stays in the calendar for {} days", lambda: (str(DONE_SHOWN_DAYS),)),
    TextFigure(MANUAL / "phone.md", "whole within {} seconds", lambda: (f"{REQUEST_S:g}",)),
    TextFigure(MANUAL / "phone.md", "at most {} pixels a side", lambda: (str(LONGEST_SIDE),)),
    TextFigure(MANUAL / "phone.md", "PNG up to {} MB are read", lambda: (f"{PHOTO_OCTETS >> 20}",)),
    TextFigure(
        MANUAL / "phone.md",
        "one address holds at most {} of the {} connections",
        lambda: (f"{SHARE_OF_ONE_ADDRESS * CONNECTIONS:g}", str(CONNECTIONS)),
    ),
    TextFigure(
        MANUAL / "phone.md",
        "{} at once and then one each {} seconds, until the journal is full ({} million letters)",
        lambda: (str(NOTES_AT_ONCE), f"{SECONDS_A_NOTE:g}", f"{JOURNAL_OCTETS / 1e6:g}"),
    ),
)


def rewritten(text: str, figure: TextFigure) -> str:
    """The text with the figure's values in its sentence. Raises SystemExit where the sentence is gone."""
    found = figure.pattern().search(text)
    if found is None:
        raise SystemExit(f"{figure.page.name} no longer says: {figure.sentence}")
    for number in range(len(figure.values()), 0, -1):
        text = text[: found.start(number)] + figure.values()[number - 1] + text[found.end(number) :]
    return text


WEEKEND = (date(2027, 5, 29), date(2027, 5, 30))
_WEEKEND_BLOCK = re.compile(r"(of May holds these entries[^`]*```text\n)(.*?)(```)", re.DOTALL)


def weekend_lines() -> str:
    """The entries of the example's feed on the weekend that the README shows, planned five days before it."""
    with TemporaryDirectory() as place:
        words = ["plan", str(PROJECT / "examples" / "gangneung"), "--today", "2027-05-24", "--out", place]
        done = CliRunner().invoke(care_planner, words)
        assert done.exit_code == 0, done.output
        events = Calendar.from_ical((Path(place) / "all.ics").read_bytes()).walk("VEVENT")
    text = ""
    for day in WEEKEND:
        titles = [str(event["SUMMARY"]) for event in events if event.decoded("DTSTART") == day]
        for number, title in enumerate(titles):
            text += f"{day:%a} {day.day} May  {title}\n" if not number else f"{'':12}{title}\n"
    return text


def weekend_shown(text: str) -> str:
    """The same entries as they stand in the README."""
    found = _WEEKEND_BLOCK.search(text)
    assert found is not None, "the README no longer shows a weekend"
    return found[2]


def rewrite() -> None:
    """Put every figure into its sentence, and the weekend into the README."""
    text = README.read_text(encoding="utf-8")
    lines = weekend_lines()
    README.write_text(_WEEKEND_BLOCK.sub(lambda m: f"{m[1]}{lines}{m[3]}", text), encoding="utf-8")
    for figure in FIGURES:
        text = figure.page.read_text(encoding="utf-8")
        figure.page.write_text(rewritten(text, figure), encoding="utf-8")


# Numbers that are no figures: names of standards, of steps and of ways to write, each with its sentence.
NO_FIGURES = (
    *(
        r"^\d\. ",
        r"\*\*[A-Z]\w+\.\*\* .*",
        r"A4 pages",
        r"8 years in 10",
        r"FAO AquaCrop|CC BY 4\.0|\(ed\.\) 2001",
    ),
    *(r"Exit codes: 0 done, 2 a mistake in the input, 1 a fault", r"A day such as 5/24", r"127\.0\.0\.1"),
    *(
        r'"Bench walk: 9 things"',
        r"W12\s+S3|3 cuttings, CHECK 2025: looks like left-1's",
        r"one alarm at 16 h",
    ),
)


def numbers_left(page: Path, text: str) -> Iterator[str]:
    """Lines of a page's prose with a number that no figure makes. Code is not prose: it is run or read."""
    prose = re.sub(r"^ *```.*?^ *```$", "", text, flags=re.DOTALL | re.MULTILINE)
    prose = re.sub(r"<img[^>]*>|\]\([^)]*\)", "", prose)
    for figure in FIGURES:
        if figure.page == page:
            prose = figure.pattern().sub("", prose)
    prose = re.sub(r"`[^`]*`|\"[^\"]*\"", "", prose)  # nor is what is quoted as an example
    for words in NO_FIGURES:
        prose = re.sub(words, "", prose, flags=re.MULTILINE)
    yield from (line.strip() for line in prose.splitlines() if re.search(r"\d", line))
