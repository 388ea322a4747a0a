"""Mistakes in a pack that each line alone does not show: unknown names, windows that cannot open."""

from collections.abc import Iterator, Mapping
from datetime import date

from care_planner.problems import did_you_mean
from care_planner.rulebook.condition import Condition
from care_planner.rulebook.effect import Effect
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.rule import AnotherWork, Rule, WithinRisk
from care_planner.rulebook.taxon import Stage, Taxon

COMMON_STAGES = ("dormancy-broken", "bud-swell", "flush", "end-of-growth", "rest")
# Moments that feel nothing of the tree: a work that moves it may wait for these only, since every
# stage feels the bench it was moved to.
WITHOUT_THE_TREE = (
    "held",
    "first_night",
    "last_night",
    "day_length",
    "month_day",
    "work",
    "earliest",
    "latest",
    "of",
)

RISKS = ("frost",)

Path = tuple[str | int, ...]
Found = tuple[Path, str, str]  # where in the rule or stage, what is wrong, what is allowed


class Names:
    """The names a taxon's packs may use; `removed` works are known, but never come."""

    def __init__(
        self,
        taxon: Taxon,
        stages: Mapping[str, Stage],
        rules: Mapping[str, Rule],
        signs: frozenset[str],
        removed: frozenset[str] = frozenset(),
    ) -> None:
        self.taxon, self.stages, self.rules, self.signs = taxon, stages, rules, signs
        self.works = frozenset(rules) | removed


def check_taxon(names: Names) -> Iterator[Found]:
    """Mistakes of the taxon itself."""
    curve = names.taxon.bloom_curve
    if curve is not None and curve.since not in names.stages:
        allowed = did_you_mean(curve.since, names.stages)
        yield ("bloom_curve", "since"), f"unknown stage '{curve.since}'", allowed


def check_stage(stage: Stage, names: Names) -> Iterator[Found]:
    """Mistakes of one stage."""
    yield from _moment_names(stage.reached, ("reached",), names)
    if any(part.of is not None for part in stage.reached.walk()):
        yield ("reached",), "'of' is for the two ends of a work's window", "a stage has no window"


def check_rule(rule: Rule, names: Names) -> Iterator[Found]:
    """Mistakes of one rule."""
    for path, part in [((), rule), *((("cases", i), case) for i, case in enumerate(rule.cases))]:
        for end in ("opens", "closes", "closes_before", "closes_after"):
            moment: Moment | None = getattr(part, end, None)
            if moment is not None:
                yield from _moment_names(moment, (*path, end), names)
                yield from _own_ends(moment, (*path, end))
    yield from _wrong_ends(rule)
    for i, case in enumerate(rule.cases):
        if case.opens is not None or case.closes is not None:
            for where, what, allowed in _wrong_ends(rule.in_case(case)):
                yield ("cases", i, *where), what, allowed
    yield from _work_names(rule, names)
    yield from _contradictions(rule)
    if any(effect.moves_to for effect in rule.effects):
        yield from _moves_without_stages(rule)
    if isinstance(rule.choose, WithinRisk):
        risk = rule.choose.latest_within_risk or rule.choose.earliest_within_risk or ""
        if risk not in RISKS:
            yield ("choose",), f"unknown risk '{risk}'", did_you_mean(risk, RISKS)
    if rule.look is not None and rule.look.stage not in names.stages:
        yield (
            ("look", "stage"),
            f"unknown stage '{rule.look.stage}'",
            did_you_mean(rule.look.stage, names.stages),
        )


def _moment_names(moment: Moment, path: Path, names: Names) -> Iterator[Found]:
    for part in moment.walk():
        if part.stage is not None and part.stage not in names.stages:
            yield path, f"unknown stage '{part.stage}'", did_you_mean(part.stage, names.stages)
        if part.work is not None and part.work not in names.works:
            yield path, f"unknown work '{part.work}'", did_you_mean(part.work, names.rules)
        if part.noted_work is not None and part.noted_work not in names.works:
            yield path, f"unknown work '{part.noted_work}'", did_you_mean(part.noted_work, names.rules)
        if part.sign is not None and part.sign not in names.signs:
            yield path, f"unknown sign '{part.sign}'", did_you_mean(part.sign, names.signs)
        if part.share_open is not None and names.taxon.bloom_curve is None:
            yield path, "a share open, but the taxon has no bloom_curve", "give the taxon a bloom_curve"


def _own_ends(moment: Moment, path: Path) -> Iterator[Found]:
    end = str(path[-1])
    if _hangs_on(moment, end):
        yield path, f"'{end}' is said to hang on itself", f"allowed: of: {_other(end)}"


def _hangs_on(moment: Moment, end: str) -> bool:
    return any(part.of == end for part in moment.walk())


def _other(end: str) -> str:
    return "closes" if end == "opens" else "opens"


def _work_names(rule: Rule, names: Names) -> Iterator[Found]:
    asked: list[tuple[Path, str]] = [(("after", i, "work"), after.work) for i, after in enumerate(rule.after)]
    asked += [(("rests", i, "after"), id) for i, rest in enumerate(rule.rests) for id in rest.after]
    asked += [(("blocks",), id) for id in rule.blocks]
    asked += [(("rests_in",), id) for id in rule.rests_in]
    for i, block in enumerate(rule.unless):
        if isinstance(block, AnotherWork):
            asked += [(("unless", i, "work"), id) for id in block.work]
    for path, id in asked:
        if id not in names.works:
            yield path, f"unknown work '{id}'", did_you_mean(id, names.rules)
    effects: list[tuple[Path, Effect]] = [(("effects", i), effect) for i, effect in enumerate(rule.effects)]
    for i, choice in enumerate(rule.no_room):
        effects += [(("no_room", i, "effects", j), effect) for j, effect in enumerate(choice.effects)]
    for path, effect in effects:
        stages = [*(effect.sets_back.stages if effect.sets_back else ()), effect.ends_stage]
        for stage in stages:
            if stage is not None and stage not in names.stages:
                yield path, f"unknown stage '{stage}'", did_you_mean(stage, names.stages)
    for sign in rule.settled_by:
        if sign not in names.signs:
            yield ("settled_by",), f"unknown sign '{sign}'", did_you_mean(sign, names.signs)
    for condition in _conditions(rule):
        for sign in condition.noted or ():
            if sign not in names.signs:
                yield ("only",), f"unknown sign '{sign}'", did_you_mean(sign, names.signs)


def _conditions(rule: Rule) -> list[Condition]:
    return [
        rule.only,
        *(case.only for case in rule.cases),
        *(block for block in rule.unless if isinstance(block, Condition)),
    ]


def _contradictions(rule: Rule) -> Iterator[Found]:
    wanted = rule.only.given()
    for i, block in enumerate(rule.unless):
        given = block.given() if isinstance(block, Condition) else {}
        if given and all(fact in wanted and set(wanted[fact]) <= set(given[fact]) for fact in given):
            facts = " and ".join(given)
            yield ("unless", i), f"'only' asks for the {facts} that 'unless' forbids", "it can never fire"


def _wrong_ends(rule: Rule) -> Iterator[Found]:
    """A window whose ends hang on each other, or that closes before it opens."""
    if _hangs_on(rule.opens, "closes") and _hangs_on(rule.closes, "opens"):
        yield ("opens",), "opens hangs on closes and closes on opens", "one of them needs a moment of its own"
    if _same_moment(rule.opens, rule.closes) and rule.closes.plus_days < rule.opens.plus_days:
        yield ("closes",), "it closes before it opens", "closes must not lie before opens"
    opens, closes = rule.opens.share_open, rule.closes.share_open
    if opens is not None and closes is not None and closes < opens:
        yield (
            ("closes",),
            f"it closes at {closes:g} open, before it opens at {opens:g}",
            "closes at or after opens",
        )
    ends = (rule.opens, rule.closes)
    days = (rule.opens.month_day, rule.closes.month_day)
    if None not in days and not rule.no_room and rule.opens.season == rule.closes.season:
        first, last = (_days_of_year(day or "", m.plus_days) for day, m in zip(days, ends, strict=True))
        if last < first:
            yield (
                ("closes",),
                f"it closes on {days[1]}, before it opens on {days[0]}",
                "closes at or after opens",
            )
    if rule.opens.of == "closes" and rule.opens.plus_days > 0:
        yield ("opens",), "it opens after it closes", "plus_days of 0 or less"
    if rule.closes.of == "opens" and rule.closes.plus_days < 0:
        yield ("closes",), "it closes before it opens", "plus_days of 0 or more"


def _days_of_year(month_day: str, plus_days: int) -> int:
    month, day = (int(part) for part in month_day.split("-"))
    return date(2024, month, day).toordinal() + plus_days


def _same_moment(a: Moment, b: Moment) -> bool:
    return a.model_copy(update={"plus_days": 0}) == b.model_copy(update={"plus_days": 0})


def _moves_without_stages(rule: Rule) -> Iterator[Found]:
    for end in ("opens", "closes"):
        for part in getattr(rule, end).walk():
            if part.kind not in WITHOUT_THE_TREE:
                yield (
                    (end,),
                    f"a work that moves the tree waits for its {part.kind}, which feels the bench",
                    f"allowed: {', '.join(WITHOUT_THE_TREE)}",
                )
