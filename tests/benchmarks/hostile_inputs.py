"""Many broken inputs, and rules and places of extremes: what is refused, what is slow, what breaks.

Run from the project's root: python tests/benchmarks/hostile_inputs.py [BROKEN [EXTREMES [SEED]]]

Without numbers 10,000 broken inputs of all files and 2,000 extremes; a part of that takes a part of the time.
Ends with exit code 1 where anything ended with a traceback, took over ten seconds, or changed a feed of a
calendar whose plan was refused.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "hostile"))

from mutants import extremes, mutated_inputs


def main() -> None:
    """Run both and print what they came to."""
    broken, unusual, seed = [*map(int, sys.argv[1:]), *(10_000, 2_000, 1)[len(sys.argv) - 1 :]]
    faults: list[str] = []
    for name, run, number in (("broken", mutated_inputs, broken), ("extremes", extremes, unusual)):
        with TemporaryDirectory() as place:
            found = run(Path(place), number, seed)
        print(f"{name:<9} {found.words()}", flush=True)
        faults += found.faults
    print("\n".join(faults[:40]))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
