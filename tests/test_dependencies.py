"""Every library has a lower bound, those that run have an upper one, and the tested versions lie between."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = Path(__file__).parents[1]
TOLD = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TESTED = {
    canonicalize_name(name): version
    for name, version in re.findall(
        r"^([\w.-]+)==(\S+)$", (PROJECT / ".ci" / "constraints.txt").read_text(encoding="utf-8"), re.MULTILINE
    )
}
ONLY_FOR_TESTS = "test"


def requirements() -> list[tuple[str, Requirement]]:
    parts = {"": TOLD["dependencies"], **TOLD["optional-dependencies"]}
    found = [(part, Requirement(text)) for part, texts in parts.items() for text in texts]
    return [(part, one) for part, one in found if one.name != TOLD["name"]]


def test_what_runs_has_bounds() -> None:
    for part, one in requirements():
        if part != ONLY_FOR_TESTS and one.name != "tzdata":  # dates, not an interface
            kinds = {bound.operator for bound in one.specifier}
            assert kinds == {">=", "<"}, str(one)


def test_the_tested_versions_are_allowed_and_name_no_place() -> None:
    for _, one in requirements():
        assert one.specifier.contains(TESTED[canonicalize_name(one.name)]), str(one)
    text = (PROJECT / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    assert "://" not in text and "@" not in text and "--" not in text


def test_what_only_fetching_needs_comes_by_an_extra() -> None:
    plain = {one.name for part, one in requirements() if not part}
    assert not plain & {"meteostat", "pandas", "requests"}
