"""Rules with moments of every kind and extreme numbers, at extreme places and in far years.

Everything is drawn from a seed, so a find can be made again.
"""

import random
import shutil
from math import cos, pi
from pathlib import Path

from mutants import COLLECTION, OWN, TODAY, Found, looked_at_plan, make_collection, run

NUMBERS = (
    "-60",
    "-40.5",
    "-9",
    "-0.1",
    "0",
    "0.001",
    "3",
    "12",
    "24",
    "35.5",
    "60",
    "400",
    "5000",
    "1e6",
    "1e308",
)
PLACES = (
    *(("0", "0", "UTC"), ("89.9", "0", "UTC"), ("-89.9", "0", "Antarctica/McMurdo"), ("66.6", "25", "UTC")),
    *(("-34.6", "-58.4", "America/Argentina/Buenos_Aires"), ("37.75", "128.9", "Asia/Seoul")),
    *(("-45", "179.9", "Pacific/Auckland"), ("52.4", "4.9", "Europe/Amsterdam")),
)


TODAYS = (TODAY, TODAY, TODAY, "2026-01-01", "2028-02-29", "2032-12-31", "2036-07-01", "2150-12-31")
CHOICES = ("early", "mid", "late")
SUMS = ("0.001", "12", "400", "5000", "1e6", "1e308", "0")
MONTHLY = (
    "{monthly: {tmin_c: [-2, -1, 2, 7, 12, 16, 20, 21, 17, 10, 4, -1], "
    "tmax_c: [6, 7, 12, 18, 22, 25, 28, 29, 24, 20, 14, 8]}}"
)
STAGES = ("bud-swell", "flush", "end-of-growth", "rest", "dormancy-broken")
DAYS = ("01-01", "02-29", "06-30", "12-31")
WORKS = ("repot", "shelter", "bring-out")
SEASONED = ("stage", "share_open", "month_day", "first_night", "last_night", "work", "noted_work", "last_cut")


def _climate(chance: random.Random) -> str:
    if chance.random() < 0.4:
        return MONTHLY
    middle, swing = chance.choice([-30, -5, 3, 10, 24, 33]), chance.choice([0, 2, 8, 20])
    means = [middle - swing * cos(2 * pi * month / 12) for month in range(12)]
    rows = [", ".join(f"{mean + side:.1f}" for mean in means) for side in (-4, 4)]
    return f"{{monthly: {{tmin_c: [{rows[0]}], tmax_c: [{rows[1]}]}}}}"


class Drawn:
    """Draws moments of a rule as YAML; `kinds` tells which were drawn."""

    def __init__(self, chance: random.Random) -> None:
        self.chance = chance
        self.other = "closes"  # the side of the rule that is not being drawn
        self.kinds: set[str] = set()

    def window(self) -> tuple[str, str]:
        """When a rule opens and closes; the one may hang on the other."""
        opens = self.moment()
        self.other = "opens"
        return opens, self.moment()

    def moment(self, depth: int = 0) -> str:
        """A moment of any kind, with extreme numbers."""
        makers = {
            name.removeprefix("kind_"): getattr(self, name)
            for name in sorted(dir(self))
            if name.startswith("kind_") and (depth < 2 or name not in ("kind_earliest", "kind_latest"))
        }
        kind = self.one(tuple(makers))
        self.kinds.add(kind)
        text = str(makers[kind](depth))
        if self.chance.random() < 0.4:
            text += f", plus_days: {self.one((-366, -30, -1, 1, 14, 366))}"
        if kind in SEASONED and self.chance.random() < 0.2:
            text += f", season: {self.one(('previous', 'next'))}"
        return f"{{{text}}}"

    def one(self, things: tuple[object, ...]) -> object:
        """One of them."""
        return self.chance.choice(things)

    def warmth(self) -> str:
        """How warmth is summed."""
        method = self.one(("average", "single-sine", "double-triangle", "sigmoid", "cold"))
        if method == "sigmoid":
            return f"{{method: sigmoid, midpoint_c: {self.one(NUMBERS)}, slope_per_c: {self.one(NUMBERS)}}}"
        return f"{{method: {method}, base_c: {self.one(NUMBERS)}}}"

    def since(self, depth: int) -> str:
        """From when something is summed or held."""
        return f"since: {self.moment(depth + 1) if depth < 1 else self.date()}"

    def date(self) -> str:
        """A date or a stage."""
        return str(self.one((f'{{month_day: "{self.one(DAYS)}"}}', f"{{stage: {self.one(STAGES)}}}")))

    def kind_stage(self, _: int) -> str:
        return f"stage: {self.one(STAGES)}"

    def kind_share_open(self, _: int) -> str:
        return f"share_open: {self.one(('0', '0.001', '0.5', '1'))}"

    def kind_warmth(self, depth: int) -> str:
        less = (
            ", less_chill: {chill: {method: utah}, enough: 1e6, at_most_times: 1e3, since: '12-31'}"
            if self.chance.random() < 0.2
            else ""
        )
        return f"warmth: {{by: {self.warmth()}, sum: {self.one(SUMS)}{less}}}, {self.since(depth)}"

    def kind_chill(self, depth: int) -> str:
        by = self.one(("{method: hours, low_c: 0, high_c: 7}", "{method: utah}"))
        return f"chill: {{by: {by}, sum: {self.one(SUMS)}}}, {self.since(depth)}"

    def kind_held(self, depth: int) -> str:
        limit = f"{self.one(('at_least_c', 'at_most_c'))}: {self.one(NUMBERS)}"
        which = f"which: {self.one(('first', 'last'))}, days: {self.one((1, 5, 60))}"
        since = f", {self.since(depth)}" if self.chance.random() < 0.5 else ""
        return f"held: {{of: {self.one(('mean', 'min', 'max'))}, {limit}, {which}}}{since}"

    def kind_first_night(self, _: int) -> str:
        return f"first_night: {{at_most_c: {self.one((*NUMBERS, 'frost-limit'))}}}"

    def kind_last_night(self, _: int) -> str:
        return f"last_night: {{at_most_c: {self.one((*NUMBERS, 'frost-limit'))}}}"

    def kind_day_length(self, depth: int) -> str:
        hours = self.one(("0", "6", "11.9", "13", "23.9", "24"))
        since = f", {self.since(depth)}" if self.chance.random() < 0.3 else ""
        return f"day_length: {{{self.one(('at_least_h', 'at_most_h'))}: {hours}}}{since}"

    def kind_work(self, _: int) -> str:
        return f"work: {self.one(WORKS)}"

    def kind_noted_work(self, _: int) -> str:
        return f"noted_work: {self.one(WORKS)}"

    def kind_last_cut(self, _: int) -> str:
        return "last_cut: any"

    def kind_sign(self, _: int) -> str:
        return "sign: root-rot"

    def kind_month_day(self, _: int) -> str:
        return f'month_day: "{self.one(DAYS)}"'

    def kind_last_day_leaving(self, _: int) -> str:
        return f"last_day_leaving: {{by: {self.warmth()}, sum: {self.one(SUMS)}, before: {self.date()}}}"

    def kind_earliest(self, depth: int) -> str:
        return f"earliest: [{self.moment(depth + 1)}, {self.moment(depth + 1)}]"

    def kind_latest(self, depth: int) -> str:
        return f"latest: [{self.moment(depth + 1)}, {self.moment(depth + 1)}]"

    def kind_of(self, _: int) -> str:
        return f"of: {self.other}"


def extremes(place: Path, number: int, seed: int) -> Found:
    """Rules with moments of every kind and extreme numbers, at extreme places, planned and explained.

    Held: no traceback in `plan` or in `why` of the rule, none slower than `mutants.SLOW_S`.
    """
    found, chance = Found(), random.Random(seed)
    for n in range(number):
        folder = make_collection(place / f"yard-{n}")
        latitude, longitude, zone = chance.choice(PLACES)
        weather = "days.csv" if chance.random() < 0.2 else _climate(chance)
        told = {"latitude": latitude, "longitude": longitude, "zone": zone, "weather": weather}
        (folder / "collection.yaml").write_text(COLLECTION.format(**told), encoding="utf-8")
        drawn, today = Drawn(chance), chance.choice(TODAYS)
        opens, closes = drawn.window()
        own = OWN.replace("container-tree", str(drawn.one(("container-tree", "satsuki-azalea"))))
        own = own.replace("{stage: flush}", opens).replace("{stage: end-of-growth}", closes)
        own = own[: own.index("    examples:")].replace("choose: early", f"choose: {chance.choice(CHOICES)}")
        if chance.random() < 0.5:
            own = own.replace("    repeat: {every_days: 28}\n", "")
        (folder / "rules" / "own.yaml").write_text(own, encoding="utf-8")
        what = f"{latitude} N, {today}, {weather[:160]}; opens {opens}, closes {closes}"
        if not looked_at_plan(found, folder, what, today):
            commands = [["why", str(folder), "sats-01", "turn-pots", "--today", today]]
            commands += [["frost", str(folder)]] if n % 5 == 0 else []
            for command in commands:
                found.looks_at(run(command), what, command[0])
        shutil.rmtree(folder)
    return found
