"""Every benchmark can still be started: what it takes from the package and from its neighbours is there."""

import importlib
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "benchmarks"


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("*.py")))
def test_a_benchmark_finds_what_it_imports(monkeypatch, name):
    monkeypatch.syspath_prepend(str(FOLDER))
    monkeypatch.setattr(sys, "argv", [name])
    assert importlib.import_module(name).__doc__
