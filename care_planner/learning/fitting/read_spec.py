"""What to fit, from its YAML."""

from pathlib import Path

from care_planner.learning.fitting.spec import FitSpec
from care_planner.problems import Problem
from care_planner.typed_yaml.read_yaml import read_yaml, validate


def read_spec(path: Path) -> tuple[FitSpec | None, list[Problem]]:
    """The spec, or every mistake in it."""
    located, problems = read_yaml(path, str(path))
    if located is None:
        return None, problems
    spec, faults = validate(located, FitSpec)
    return spec, problems + faults
