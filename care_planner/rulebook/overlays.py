"""The grower's own changes laid over the rules of a stack of packs, key by key."""

from collections.abc import Mapping
from dataclasses import dataclass

from care_planner.problems import Problem, did_you_mean
from care_planner.rulebook.checks import Found
from care_planner.rulebook.pack import Origin, OwnPack
from care_planner.rulebook.rule import Rule
from care_planner.typed_yaml.located import Place
from care_planner.typed_yaml.read_yaml import Located, validate


@dataclass(frozen=True, eq=False)
class OwnFile:
    """A grower's changes with the file they were read from."""

    own: OwnPack
    located: Located


@dataclass(frozen=True, eq=False)
class PlacedRule:
    """A rule and where each of its lines stands."""

    rule: Rule
    origin: Origin
    located: Located
    path: tuple[str | int, ...]
    raw: Mapping[str, object]

    def problem(self, found: Found) -> Problem:
        """A mistake found in this rule, with its place."""
        where, what, allowed = found
        line = self.located.line((*self.path, *where))
        return Problem(self.located.file, line, f"rule {self.rule.id}: {what}", allowed)


def lay_over(
    placed: dict[str, PlacedRule], overlays: list[OwnFile]
) -> tuple[dict[str, PlacedRule], list[Problem]]:
    """The rules after every change, and the mistakes in the changes."""
    problems: list[Problem] = _changed_twice(overlays)
    for overlay in overlays:
        located = overlay.located
        for i, id in enumerate(overlay.own.remove):
            if placed.pop(id, None) is None:
                line = located.line(("remove", i))
                problems.append(Problem(located.file, line, f"unknown work '{id}'", did_you_mean(id, placed)))
        for i, raw in enumerate(overlay.own.rules):
            rule, faults = _overlaid(raw, i, overlay, placed)
            problems += faults
            if rule is not None:
                placed[rule.rule.id] = rule
    return placed, problems


def _changed_twice(overlays: list[OwnFile]) -> list[Problem]:
    """A key of a rule that two of the grower's changes set: which holds must not hang on files' names."""
    first: dict[tuple[str, str], str] = {}
    problems = []
    for overlay in overlays:
        located = overlay.located
        for i, raw in enumerate(overlay.own.rules):
            for key in raw:
                line, id = located.line(("rules", i, key)), str(raw.get("id", ""))
                before = first.setdefault((id, key), f"{located.file}:{line}")
                if key != "id" and before != f"{located.file}:{line}":
                    what = f"rule {id}: {key} is changed a second time, first on {before}"
                    problems.append(Problem(located.file, line, what, "one change for each key of a rule"))
    return problems


def _overlaid(
    raw: Mapping[str, object], i: int, overlay: OwnFile, placed: Mapping[str, PlacedRule]
) -> tuple[PlacedRule | None, list[Problem]]:
    located, path = overlay.located, ("rules", i)
    id = str(raw.get("id", ""))
    base = placed.get(id)
    whole = {**(base.raw if base is not None else {}), **located.at(path)}
    rule, problems = validate(Located(located.file, whole, _place(located, path)), Rule)
    if rule is None:
        return None, problems
    origin = Origin(
        base.origin.pack if base else overlay.own.lays_over,
        base.origin.file if base else located.file,
        located.file if base else None,
    )
    return PlacedRule(rule, origin, located, path, whole), problems


def _place(located: Located, path: tuple[str | int, ...]) -> Place | int:
    """The lines of one part of a file."""
    place: Place | int = located.place
    for step in path:
        place = place.inside[step] if isinstance(place, Place) else place
    return place
