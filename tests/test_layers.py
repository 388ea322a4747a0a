"""Layers and edges: who imports whom, and who touches disk, network or clock. Each check is seen to fail."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "care_planner"
FILES = sorted(PACKAGE.rglob("*.py"))

# Each room imports only from those in rows before its own; rooms of one row never import one another.
# A file directly in the package is a room of its own.
LAYERS = (
    ("problems", "spans", "disk"),
    ("typed_yaml",),
    ("collection", "journal", "climate", "rulebook"),
    ("stages",),
    ("learning",),
    ("windows",),
    ("years",),
    ("tasks",),
    ("colours",),
    ("words",),
    ("calendar",),
    ("plan",),
    ("outlook",),
    ("tools",),
    ("folder",),
    ("note",),
    ("show",),
    ("serve",),
    ("commands",),
    ("cli",),
)
RANK = {name: rank for rank, row in enumerate(LAYERS) for name in row}

DISK_NAMES = {"open"}
DISK_METHODS = {
    *("read_text", "read_bytes", "write_text", "write_bytes", "open", "mkdir", "rmdir", "unlink", "rename"),
    *("iterdir", "glob", "rglob", "exists", "is_file", "is_dir", "touch", "hardlink_to", "stat"),
}
DISK_MODULES = {"os", "shutil", "tempfile", "gzip", "fcntl", "filelock"}
NETWORK_MODULES = {"socket", "urllib", "http", "requests", "meteostat", "ssl"}
CLOCK_METHODS = {("datetime", "now"), ("datetime", "today"), ("date", "today"), ("time", "time")}
CLOCK_MODULES = {"pendulum", "time"}


def part_of(path: Path) -> str:
    """The layer's name: the folder in the package, or the file's own name."""
    inside = path.relative_to(PACKAGE)
    return inside.parts[0].removesuffix(".py")


def imported(tree: ast.AST) -> set[str]:
    """Parts of the package that a file imports, at its top or anywhere inside."""
    found = set()
    for node in ast.walk(tree):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module] + [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            pieces = name.split(".")
            if pieces[0] == "care_planner" and len(pieces) > 1:
                found.add(pieces[1])
    return found


def layer_faults(part: str, source: str) -> list[str]:
    """Imports that go upward or sideways, or to a room that no row names."""
    return [
        f"{part} imports {other}"
        for other in sorted(imported(ast.parse(source)))
        if other != part and (other not in RANK or RANK[other] >= RANK[part])
    ]


def edge_faults(name: str, source: str) -> list[str]:
    """Disk, network and clock outside the files whose names say so."""
    may_disk = name.startswith(("read_", "write_", "fetch_"))
    may_net = name.startswith("fetch_")
    found = []
    for node in ast.walk(ast.parse(source)):
        for module in _modules(node):
            if module in DISK_MODULES and not may_disk:
                found.append(f"disk: import {module}")
            if module in NETWORK_MODULES and not may_net:
                found.append(f"network: import {module}")
            if module in CLOCK_MODULES:
                found.append(f"clock: import {module}")
        if isinstance(node, ast.Call):
            found += _calls(node.func, may_disk)
    return found


def _modules(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name.split(".")[0] for alias in node.names]
    if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
        # Taking an address apart touches no network.
        return [] if node.module == "urllib.parse" else [node.module.split(".")[0]]
    return []


def _calls(called: ast.expr, may_disk: bool) -> list[str]:
    if isinstance(called, ast.Name):
        return ["disk: open()"] if called.id in DISK_NAMES and not may_disk else []
    if not isinstance(called, ast.Attribute):
        return []
    found = [f"disk: .{called.attr}()"] if called.attr in DISK_METHODS and not may_disk else []
    owner = called.value
    names = owner.id if isinstance(owner, ast.Name) else getattr(owner, "attr", "")
    if (names, called.attr) in CLOCK_METHODS:
        found.append(f"clock: {names}.{called.attr}()")
    return found


# What stands outside a file named for it, and why; nothing else does.
ALLOWED = {
    "commands/tools.py": {  # the one clock, and the outlet of the command line
        *("clock: import pendulum", "clock: import time", "disk: import os", "disk: .open()"),
    },
    "climate/fetch_http.py": {"clock: import time"},  # seconds that only rise, for the limit on an answer
    "commands/starting.py": {"disk: .is_file()"},  # whether a list of trees was named, before it is read
    "serve/patient_server.py": {"network: import socket"},  # the server's own sockets
    "serve/served.py": {"disk: import gzip"},  # bytes pressed in memory
}


def test_every_room_has_its_row() -> None:
    assert {part_of(path) for path in FILES if path.parent != PACKAGE or path.stem != "__init__"} == set(RANK)


@pytest.mark.parametrize("room", RANK)
def test_a_planted_import_is_seen_in_every_room(room: str) -> None:
    """Of every room of its own row or a later one, at the top, inside a function and for types only."""
    for other in RANK:
        if other != room and RANK[other] >= RANK[room]:
            top = f"from care_planner.{other} import x"
            for source in (top, f"def f():\n    {top}", f"if TYPE_CHECKING:\n    {top}"):
                assert layer_faults(room, source) == [f"{room} imports {other}"]
    assert layer_faults(room, "import care_planner.unheard_of")


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_layers(path: Path) -> None:
    assert layer_faults(part_of(path), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_edges(path: Path) -> None:
    faults = set(edge_faults(path.name, path.read_text(encoding="utf-8")))
    assert faults == ALLOWED.get(path.relative_to(PACKAGE).as_posix(), set())


def test_init_files_hold_a_docstring_only() -> None:
    for path in FILES:
        if path.name == "__init__.py":
            body = ast.parse(path.read_text(encoding="utf-8")).body
            assert len(body) == 1 and isinstance(body[0], ast.Expr), path


@pytest.mark.parametrize(
    ("part", "source"),
    [
        ("stages", "from care_planner.tasks.model import Task"),
        ("climate", "from care_planner.collection.model import Collection"),
        ("windows", "import care_planner.plan"),
        ("collection", "def f():\n    from care_planner.cli import main"),
        ("spans", "from care_planner import problems"),
        ("tasks", "from care_planner.show.plan import plan_lines"),
    ],
)
def test_a_planted_import_is_seen(part: str, source: str) -> None:
    assert layer_faults(part, source)


@pytest.mark.parametrize(
    ("name", "source"),
    [
        ("plan.py", "open('x')"),
        ("plan.py", "from pathlib import Path\nPath('x').read_text()"),
        ("model.py", "import os"),
        ("model.py", "import tempfile"),
        ("read_x.py", "import urllib.request"),
        ("read_x.py", "import meteostat"),
        ("read_x.py", "from datetime import date\ndate.today()"),
        ("write_x.py", "import datetime\ndatetime.datetime.now()"),
        ("plan.py", "import pendulum"),
    ],
)
def test_a_planted_touch_is_seen(name: str, source: str) -> None:
    assert edge_faults(name, source)


def test_what_is_allowed_is_not_blamed() -> None:
    assert edge_faults("read_x.py", "from pathlib import Path\nPath('x').read_text()") == []
    assert edge_faults("fetch_x.py", "import meteostat") == []
    assert layer_faults("words", "from care_planner.tasks.model import Task") == []
