"""Kills of `note`, `plan` and a server at random moments of their work; what was lost, doubled or torn.

Run from the project's root: python tests/benchmarks/kill_counts.py [KILLS [SEED]]

Without numbers 1,000 kills, in parts of sixty rounds, each part on a new folder. Ends with exit code 1 where
an acknowledged note is lost or there twice, a file does not parse or a calendar is not whole.
"""

import sys
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "journal"))

from kills import KINDS, kill_rounds
from small_collection import make_quick_collection

ROUNDS = 60


def main() -> None:
    """Kill, count and print."""
    wanted, seed = [*map(int, sys.argv[1:]), *(1_000, 1)[len(sys.argv) - 1 :]]
    kills, told, faults, torn = Counter[str](), Counter[str](), list[str](), 0
    heads = [f"kills of {kind}" for kind in KINDS] + [
        "notes told",
        "torn set aside",
        "lost",
        "twice",
        "other",
    ]
    print("  ".join(heads))
    while sum(kills.values()) < wanted:
        rounds = min(ROUNDS, -(-(wanted - sum(kills.values())) // len(KINDS)))
        with TemporaryDirectory() as place:
            seen = kill_rounds(make_quick_collection(Path(place) / "yard"), rounds, seed)
        seed += 1
        kills, told, faults, torn = (
            kills + seen.kills,
            told + seen.told,
            faults + seen.faults,
            torn + seen.torn,
        )
        lost, twice = (sum(word in fault for fault in faults) for word in (": lost: ", ": noted "))
        row = [kills[kind] for kind in KINDS]
        row += [told["note"] + told["serve"], torn, lost, twice, len(faults) - lost - twice]
        print("  ".join(f"{value:>{len(head)}}" for head, value in zip(heads, row, strict=True)), flush=True)
    print("\n".join(faults[:40]))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
