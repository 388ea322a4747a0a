"""Packs in a folder, read as the program reads them: every message, as text."""

from pathlib import Path

from small_world import FLOWERING, pack_text, rule

from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook

SECOND = "    opens: {stage: flush}\n    closes: {stage: end-of-growth}\n"
BASE = pack_text(
    FLOWERING,
    rule("first", "opens: {stage: flush}\ncloses: {stage: flush, plus_days: 20}"),
    rule("second", "opens: {stage: flush}\ncloses: {stage: end-of-growth}"),
    signs=("galls",),
)


def read(folder: Path, shipped: str = BASE, **own: str) -> tuple[Rulebook, list[str]]:
    """The rulebook of one shipped pack and the grower's own files (by stem), and what is wrong with them."""
    ours, theirs = folder / "shipped", folder / "rules"
    for made in (ours, theirs):
        made.mkdir(exist_ok=True)
    (ours / "flowering-tree.yaml").write_text(shipped, encoding="utf-8")
    for stem, text in own.items():
        (theirs / f"{stem}.yaml").write_text(text, encoding="utf-8")
    rulebook, problems = read_rulebook(theirs, shipped=ours)
    return rulebook, [str(problem) for problem in problems]


def ends(text: str) -> str:
    """The base with other ends of its second rule."""
    assert BASE.count(SECOND) == 1
    return BASE.replace(SECOND, "".join(f"    {line}\n" for line in text.splitlines()))


def edited(old: str, new: str) -> str:
    """The base with one place written otherwise."""
    assert BASE.count(old) == 1, old
    return BASE.replace(old, new)


def line_of(text: str, part: str) -> int:
    """The line (from 1) that is a part of a text, or on which it first stands."""
    lines = text.splitlines()
    return (
        lines.index(part) + 1
        if part in lines
        else next(n for n, line in enumerate(lines, start=1) if part in line)
    )
