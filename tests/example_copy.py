"""The example's folder, or a few of its trees, for a test to write in."""

import re
import shutil
from pathlib import Path

EXAMPLE = Path(__file__).parents[1] / "examples" / "gangneung"
# One of each kind and goal; what a test does not need only makes its plans slower.
A_FEW = ("sats-01", "sats-02", "sats-03", "maple-01", "pine-01")
_TREE = re.compile(r"  - \{id: ([a-z0-9-]+),[^\n]*\n(?:     [^\n]*\n)*")


def copied(to: Path, trees: tuple[str, ...] = ()) -> Path:
    """A copy without calendars and identity; with those trees only, where any are named."""
    shutil.copytree(EXAMPLE, to, ignore=shutil.ignore_patterns("calendar", "served", "identity.txt"))
    if trees:
        path = to / "collection.yaml"
        text = path.read_text(encoding="utf-8")
        there = set(_TREE.findall(text))
        assert there >= set(trees)
        path.write_text(_TREE.sub(lambda one: one[0] if one[1] in trees else "", text), encoding="utf-8")
        for path in (to / "journal").iterdir():
            lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
            kept = [line for line in lines if not there - set(trees) & set(re.findall(r"[a-z]+-\w+", line))]
            path.write_text("".join(kept), encoding="utf-8")
    return to
