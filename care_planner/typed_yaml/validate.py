"""Located data -> a checked model, or every mistake with its line."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from care_planner.problems import Problem
from care_planner.typed_yaml.located import Located, Path
from care_planner.typed_yaml.shapes import Labels
from care_planner.typed_yaml.wording import Fault, words

Model = TypeVar("Model", bound=BaseModel)


def validate(located: Located, model: type[Model]) -> tuple[Model | None, list[Problem]]:
    """Check data against a model; one problem a mistake, sorted by line.

    At a union only the arm that fits best is reported: first those of the right kind (a mapping for a
    mapping), then those that know the most of its keys, then those with the fewest mistakes.
    """
    try:
        return model.model_validate(located.data), []
    except ValidationError as error:
        items = error.errors(include_url=False)
        # A default that hangs on another key cannot be made where that one is wrong: that one is told.
        found = [
            _placed(item, located.data) for item in items if item["type"] != "default_factory_not_called"
        ]
    problems = {
        problem
        for fault, labels in _best_arms(found, {}, located)
        for problem in words(fault, labels, located, model)
    }
    return None, sorted(problems)


@dataclass(frozen=True)
class _Found:
    """A mistake with the labels of the union arms that lead to it, outermost first."""

    fault: Fault
    arms: tuple[tuple[Path, str], ...]


def _placed(item: Any, data: Any) -> _Found:
    """Split pydantic's location into the path in the data and the labels it puts in between.

    A step that the data has is part of the path; the name of a missing key ends it; any other step is
    the label of a union's arm, or `[key]` for a mistake in the key itself.
    """
    path: Path = ()
    arms: list[tuple[Path, str]] = []
    here, in_key = data, False
    steps = item["loc"]
    for number, step in enumerate(steps, start=1):
        if (isinstance(here, dict) and step in here) or (
            isinstance(here, list) and isinstance(step, int) and step < len(here)
        ):
            here = here[step]
            path = (*path, step)
        elif number == len(steps) and item["type"] == "missing":
            path = (*path, step)
        elif step == "[key]":
            in_key = True
        else:
            arms.append((path, str(step)))
    return _Found(Fault(path, item["type"], item.get("ctx", {}), item["msg"], in_key), tuple(arms))


def _best_arms(found: Iterable[_Found], labels: Labels, located: Located) -> list[tuple[Fault, Labels]]:
    """Of every union keep the mistakes of the arm that fits best."""
    kept: list[tuple[Fault, Labels]] = []
    unions: dict[Path, dict[str, list[_Found]]] = {}
    for one in found:
        if not one.arms:
            kept.append((one.fault, labels))
            continue
        (place, label), *inner = one.arms
        unions.setdefault(place, {}).setdefault(label, []).append(replace(one, arms=tuple(inner)))
    for place, arms in unions.items():
        value = located.at(place)
        label, best = min(arms.items(), key=lambda arm: _misfit(place, value, arm[1]))
        strangers = [one for one in best if _is_unknown_key(place, one)]
        if value == {}:
            kept.append((Fault(place, "empty"), labels))
        elif strangers and len(strangers) == len(value):
            # No key is known, so no arm was meant: name the keys of all.
            kept += [(one.fault, labels) for one in strangers]
        else:
            kept += _best_arms(best, {**labels, place: label}, located)
    return kept


def _is_unknown_key(place: Path, one: _Found) -> bool:
    return one.fault.kind == "extra_forbidden" and len(one.fault.path) == len(place) + 1


def _misfit(place: Path, value: Any, arm: list[_Found]) -> tuple[bool, int, int]:
    """How badly an arm fits: other kind of thing, keys it does not know, mistakes in all."""
    kinds = {one.fault.kind for one in arm if one.fault.path == place}
    other_kind = any(kind.endswith("_type") for kind in kinds) or (
        "literal_error" in kinds and not isinstance(value, str)
    )
    return other_kind, sum(_is_unknown_key(place, one) for one in arm), len(arm)
