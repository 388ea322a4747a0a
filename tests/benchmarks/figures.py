"""Every measured figure that the manual shows, made by the commands that stand beside them.

    python tests/benchmarks/figures.py            measure all: rewrites care_planner/manual/figures.md, and
                                                  the figures in sentences of the README and the manual
    python tests/benchmarks/figures.py satsuki    measure only what has this word in its command
    python tests/benchmarks/figures.py sentences  only the figures in sentences (`figures_in_text.py`)

A section that is not measured in a run keeps the output of its last one. Nothing is typed in: the page
holds the output of each command as it was printed, with the day and the machine of the run.
"""

import platform
import re
import subprocess
import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import figures_in_text

PROJECT = Path(__file__).parents[2]
PAGE = PROJECT / "care_planner" / "manual" / "figures.md"
INTRO = """# Figures: what was measured, and by which command

Written by `python tests/benchmarks/figures.py`. Each section is the output of its command, as it was printed;
times are of one run on a machine that had other work as well, so take the ratios and not the seconds.
"""


@dataclass(frozen=True)
class Section:
    """A heading, what it says in a sentence, and the command whose output stands below."""

    title: str
    about: str
    command: tuple[str, ...]

    @property
    def shown(self) -> str:
        return " ".join(("python", *self.command))


SECTIONS = (
    Section(
        "How much the calendar asks of a person",
        "Entries of the feeds of the example's twelve trees.",
        ("tests/benchmarks/feed_figures.py", "examples/gangneung"),
    ),
    Section(
        "The satsuki's bloom on two records",
        "Where the pack's numbers put it; they are a choice from common practice, not a fit.",
        ("tests/benchmarks/satsuki_numbers.py",),
    ),
)


def read_kept(page: Path) -> dict[str, str]:
    """The output that stands on the page now, by command."""
    text = page.read_text(encoding="utf-8") if page.is_file() else ""
    return dict(re.findall(r"^```text\n\$ ([^\n]+)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL))


def page_text(outputs: dict[str, str]) -> str:
    """The page for the outputs of all sections."""
    parts = [INTRO]
    for section in SECTIONS:
        output = outputs.get(section.shown, "not measured yet\n")
        parts.append(f"## {section.title}\n\n{section.about}\n\n```text\n$ {section.shown}\n{output}```\n")
    return "\n".join(parts)


def measured(section: Section) -> str:
    """What the command prints, with the day and the machine above it."""
    done = subprocess.run(
        [sys.executable, *section.command], cwd=PROJECT, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise SystemExit(f"{section.shown} ended with {done.returncode}:\n{done.stderr[-2000:]}")
    day = datetime.now(UTC).date().isoformat()
    lines = [line.rstrip() for line in done.stdout.splitlines()]
    machine = f"{platform.machine()}, Python {platform.python_version()}"
    return "\n".join((f"# {day}, {machine}", *lines, ""))


def main(wanted: str = "") -> None:
    """Measure what is wanted and rewrite the page."""
    outputs = read_kept(PAGE)
    for section in SECTIONS:
        if wanted in section.shown:
            print(section.shown, file=sys.stderr)
            outputs[section.shown] = measured(section)
            PAGE.write_text(page_text(outputs), encoding="utf-8")
    if wanted in "sentences":
        figures_in_text.rewrite()


if __name__ == "__main__":
    main(*sys.argv[1:2])
