"""What waits for what, unrolled over the seasons that a plan spans, and in which order to resolve it.

A node is a stage, a rule or a group of facts in one season, counted in steps from the season being
planned. Works that move a tree come before the stages that feel the bench they moved it to.
"""

from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from care_planner.rulebook.condition import Condition
from care_planner.rulebook.moment import SEASON_STEP, Moment
from care_planner.rulebook.pack import Node
from care_planner.rulebook.rule import AnotherWork, Rule
from care_planner.rulebook.taxon import Stage, Taxon

FIRST_STEP = -2  # only the moves of that season matter: where the tree stood in the winter after it
LAST_STEP = 2  # only what windows of the step before need of it


class Circle(Exception):
    """Stages or works wait for one another; `ids` names them in order."""

    def __init__(self, ids: list[str]) -> None:
        self.ids = ids
        super().__init__(" waits for ".join(ids))


def moment_needs(moment: Moment, step: int, taxon: Taxon, cutting: list[str]) -> Iterator[Node]:
    """The nodes a moment looks at, itself and inside."""
    for part in moment.walk():
        at = step + SEASON_STEP[part.season]
        if part.stage is not None:
            yield Node("stage", part.stage, at)
        elif part.share_open is not None and taxon.bloom_curve is not None:
            yield Node("stage", taxon.bloom_curve.since, at)
        elif part.work is not None:
            yield Node("rule", part.work, at)
        elif part.last_cut is not None:
            yield from (Node("rule", id, at) for id in cutting)
        night = part.first_night or part.last_night
        if night is not None and night.at_most_c == "frost-limit":
            yield Node("facts", "roots_worked", at)


class Graph:
    """The needs of every node of one taxon."""

    def __init__(self, taxon: Taxon, stages: Mapping[str, Stage], rules: Mapping[str, Rule]) -> None:
        self.taxon, self.stages, self.rules = taxon, stages, rules
        self.cutting = [r.id for r in rules.values() if any(e.cuts_shoots for e in r.all_effects())]
        self.heavy = [r.id for r in rules.values() if r.heavy]
        self.heavy_roots = [id for id in self.heavy if rules[id].kind == "roots"]
        self.moving = {to: [r.id for r in rules.values() if r.moves(to)] for to in ("bench", "winter-bench")}

    def needs(self, node: Node) -> Iterator[Node]:
        """What must be resolved before this node; steps outside the span are left out by the caller."""
        if node.kind == "stage":
            yield from self._stage_needs(node)
        elif node.kind == "rule":
            yield from self._rule_needs(node)
        else:
            yield from self._fact_needs(node)

    def _stage_needs(self, node: Node) -> Iterator[Node]:
        stage = self.stages[node.id]
        yield from moment_needs(stage.reached, node.step, self.taxon, self.cutting)
        yield from (Node("rule", id, node.step) for id in self.moving["bench"])
        yield from (Node("rule", id, node.step - 1) for id in self.moving["winter-bench"])
        if stage.flowering:
            yield Node("facts", "buds", node.step)
        for rule in self.rules.values():
            for effect in rule.all_effects():
                back = effect.sets_back
                if (back and node.id in back.stages) or effect.ends_stage == node.id:
                    yield Node("rule", rule.id, node.step - SEASON_STEP[effect.season])

    def _rule_needs(self, node: Node) -> Iterator[Node]:
        rule = self.rules[node.id]
        for moment in rule.moments():
            yield from moment_needs(moment, node.step, self.taxon, self.cutting)
        for condition in (rule.only, *(case.only for case in rule.cases)):
            yield from self._condition_needs(condition, node.step)
        for block in rule.unless:
            if isinstance(block, AnotherWork):
                yield from (Node("rule", id, node.step + SEASON_STEP[block.season]) for id in block.work)
            else:
                yield from self._condition_needs(block, node.step)
        for other in self.rules.values():
            if rule.id in other.blocks:
                yield from self._condition_needs(other.only, node.step)
        yield from (Node("rule", after.work, node.step) for after in rule.after)
        for rest in rule.rests:
            yield from (Node("rule", id, node.step + back) for id in rest.after for back in (-1, 0))
        yield from (Node("rule", id, node.step) for id in rule.rests_in)
        # The weather of any other work is that of the bench the tree was moved to by then.
        if rule.id not in self.moving["winter-bench"]:
            yield from (Node("rule", id, node.step - 1) for id in self.moving["winter-bench"])
            if rule.id not in self.moving["bench"]:
                yield from (Node("rule", id, node.step) for id in self.moving["bench"])
        if rule.heavy:
            yield from (Node("rule", id, node.step) for id in self.heavy[: self.heavy.index(rule.id)])
        if rule.look is not None:
            yield Node("stage", rule.look.stage, node.step)

    def _condition_needs(self, condition: Condition, step: int) -> Iterator[Node]:
        for fact in condition.given():
            if fact in ("buds", "bloom", "repot", "roots_worked"):
                yield Node("facts", fact, step)
            elif fact in ("roots_worked_last_season", "cut_last_season"):
                yield Node("facts", fact.removesuffix("_last_season"), step - 1)

    def _fact_needs(self, node: Node) -> Iterator[Node]:
        if node.id == "bloom":
            yield Node("facts", "buds", node.step)
        if node.id in ("buds", "bloom"):
            for rule in self.rules.values():
                for effect in rule.all_effects():
                    if effect.set is not None and getattr(effect.set, node.id) is not None:
                        yield Node("rule", rule.id, node.step - SEASON_STEP[effect.season])
        elif node.id == "roots_worked":
            yield from (Node("rule", id, node.step) for id in self.heavy_roots)
        elif node.id == "cut":
            yield from (Node("rule", id, node.step) for id in self.cutting if self.rules[id].heavy)
        elif node.id == "repot":
            yield from (
                Node("rule", id, step) for id in self.heavy_roots for step in range(FIRST_STEP, node.step)
            )


def resolving_order(taxon: Taxon, stages: Mapping[str, Stage], rules: Mapping[str, Rule]) -> tuple[Node, ...]:
    """Every node that the seasons -1 to 1 need, each after what it waits for.

    Raises Circle where there is no such order.
    """
    graph = Graph(taxon, stages, rules)
    moves = graph.moving["winter-bench"]
    wanted = [Node("rule", id, FIRST_STEP) for id in moves]
    for step in (-1, 0, 1):
        wanted += [Node("stage", id, step) for id in stages] + [Node("rule", id, step) for id in rules]
        wanted += [Node("facts", id, step) for id in ("buds", "bloom", "repot", "roots_worked", "cut")]
    # By name: in which order a pack lists its stages and rules must not decide which work chooses first.
    wanted.sort()
    sorter: TopologicalSorter[Node] = TopologicalSorter()
    seen = set(wanted)
    while wanted:
        node = wanted.pop()
        needs = sorted(n for n in set(graph.needs(node)) if _inside(n, moves) and _known(n, rules))
        sorter.add(node, *needs)
        fresh = [n for n in needs if n not in seen]
        seen.update(fresh)
        wanted += fresh
    try:
        return tuple(sorter.static_order())
    except CycleError as error:
        raise Circle([node.id for node in error.args[1]][::-1]) from None


def _known(node: Node, rules: Mapping[str, Rule]) -> bool:
    """A work that the grower's own rules took away never comes."""
    return node.kind != "rule" or node.id in rules


def _inside(node: Node, moves: list[str]) -> bool:
    if node.step == FIRST_STEP:
        return node.kind == "rule" and node.id in moves
    return FIRST_STEP < node.step <= LAST_STEP
