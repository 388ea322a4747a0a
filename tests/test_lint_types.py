"""Lint, format and types are part of the tests, so that one command runs everything."""

import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[1]
CHECKS = {
    "lint": ("ruff", "check", "--no-cache", "."),
    "format": ("ruff", "format", "--no-cache", "--check", "."),
    "types": ("mypy",),
}
# The tool's arguments, a file's text, and what the tool must say of it.
FAULTS = [
    (("ruff", "check", "--no-cache"), "import os\n", "F401"),
    (("ruff", "check", "--no-cache"), "from datetime import datetime\n\nNOW = datetime.now()\n", "DTZ005"),
    (("ruff", "format", "--no-cache", "--check"), "X = {'a':1}\n", "1 file would be reformatted"),
    (("mypy", "--config-file", "pyproject.toml"), "def f(x):\n    return x\n", "no-untyped-def"),
]


def run(*command: str) -> subprocess.CompletedProcess[str]:
    """Run a tool of this environment on the project."""
    return subprocess.run(
        [sys.executable, "-m", *command], cwd=PROJECT, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize("name", CHECKS)
def test_the_project_passes(name: str) -> None:
    done = run(*CHECKS[name])
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(("command", "text", "said"), FAULTS, ids=lambda value: str(value)[:20])
def test_a_planted_fault_is_found(command: tuple[str, ...], text: str, said: str, tmp_path: Path) -> None:
    planted = tmp_path / "planted.py"
    planted.write_text(text, encoding="utf-8")
    options = ("--config", "pyproject.toml") if command[0] == "ruff" else ()
    done = run(*command, *options, str(planted))
    assert done.returncode == 1 and said in done.stdout, done.stdout + done.stderr
