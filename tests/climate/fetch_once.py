"""Run on its own by the tests of fetching, because the library takes its endpoints when it is imported.

Reads a list of calls as JSON from standard input, one fetch each, and prints what came of them as JSON.
"""

import json
import logging
import sys
from datetime import date
from pathlib import Path

from care_planner.climate.fetch_meteostat import fetch_station


def main() -> None:
    # As in a program that shows its log: the library's own warnings must not reach it.
    logging.basicConfig()
    came = []
    for call in json.load(sys.stdin):
        record, messages = fetch_station(
            Path(call["store"]),
            station=call["station"],
            latitude=50.0,
            longitude=4.0,
            elevation_m=100.0,
            today=date.fromisoformat(call["today"]),
        )
        known = [] if record is None else [day for day in record.tmin_c.tolist() if day == day]
        came.append(
            {
                "messages": messages,
                "known": len(known),
                "last": None if record is None else str(date.fromordinal(record.end_day - 1)),
                "source": None if record is None else record.source,
                "notes": None if record is None else record.notes,
            }
        )
    json.dump(came, sys.stdout)


if __name__ == "__main__":
    main()
