"""What stands after a run, and whether a person is called: once for an alarm, once if it is taken back."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from care_planner.outlook.watch.nights import NightWatch
from care_planner.outlook.watch.read_watches import Written

# A frost alarm calls from noon on: the morning's forecast is behind, the afternoon is there to act in.
FROST_CALLS_FROM_HOUR = 12


def after_run(
    before: Mapping[str, Written], found: Iterable[NightWatch], today: int, hour: int
) -> tuple[dict[str, Written], list[NightWatch]]:
    """What stands now, by key, and the watches to call a person with (`hour` of the site's day, 0 to 23).

    Of one night a person is called once while it stands; and once more if it is withdrawn after that.
    """
    written, calls = dict(before), []
    for watch in found:
        was = before.get(watch.key)
        now = Written(watch.state, was.told if was else "")
        due = watch.day == today and (watch.kind == "heat" or hour >= FROST_CALLS_FROM_HOUR)
        due = due or watch.day < today  # the night under way
        if due and watch.is_alarm and now.told in ("", "withdrawn"):
            calls.append(watch)
            now = replace(now, told=watch.state)
        elif watch.state == "withdrawn" and now.told not in ("", "withdrawn"):
            calls.append(watch)
            now = replace(now, told="withdrawn")
        written[watch.key] = now
    return written, calls


def untold(
    written: Mapping[str, Written], before: Mapping[str, Written], watch: NightWatch
) -> dict[str, Written]:
    """What stands where the call of a watch reached nobody: the next run tries again while it lasts."""
    was = before.get(watch.key)
    return {**written, watch.key: replace(written[watch.key], told=was.told if was else "")}
