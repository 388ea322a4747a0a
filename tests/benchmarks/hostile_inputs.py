"""Many broken inputs, and rules and places of extremes: what is refused, what is slow, what breaks.

Run from the project's root: python tests/benchmarks/hostile_inputs.py [BROKEN [EXTREMES [SEED]]]

Without numbers 10,000 broken inputs of all files and 2,000 extremes. They are run in ten parts, each with a
seed of its own and a row of the table, so that a run that is stopped still tells what it came to. Ends with
exit code 1 where anything ended with a traceback, took over ten seconds, or changed a feed of a calendar
whose plan was refused.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "hostile"))

from extremes import extremes
from mutants import Found, mutated_inputs

PARTS = 10


def main() -> None:
    """Run both, part by part, and print what they came to."""
    broken, unusual, seed = [*map(int, sys.argv[1:]), *(10_000, 2_000, 1)[len(sys.argv) - 1 :]]
    print(f"{'':<10} {'seed':>5} {Found.HEAD}")
    whole = {"broken": Found(), "extremes": Found()}
    for part in range(min(PARTS, broken, unusual)):
        for name, run, number in (("broken", mutated_inputs, broken), ("extremes", extremes, unusual)):
            with TemporaryDirectory() as place:
                share = len(range(part, number, PARTS))
                found = run(Path(place), share, seed + part)
            print(f"{name:<10} {seed + part:>5} {found.row()}", flush=True)
            print("".join(f"{fault}\n" for fault in found.faults[:40]), end="", flush=True)
            whole[name].add(found)
    for name, found in whole.items():
        print(f"{name:<10} {'all':>5} {found.row()}")
    sys.exit(1 if any(found.faults for found in whole.values()) else 0)


if __name__ == "__main__":
    main()
