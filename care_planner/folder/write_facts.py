"""Facts that were answered, written into collection.yaml."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from care_planner.collection.model import Collection
from care_planner.collection.read_collection import COLLECTION_FILE
from care_planner.disk.write_whole import write_whole
from care_planner.folder.insert_facts import NotInserted, with_facts
from care_planner.problems import Problem, ProblemsFound
from care_planner.typed_yaml.located import parse_yaml
from care_planner.typed_yaml.validate import validate


def write_facts(folder: Path, facts: Mapping[str, Mapping[str, Any]]) -> int:
    """Put each tree's facts into the file; how many were written.

    All or nothing: raises ProblemsFound, and leaves the file alone, where the result would not be a
    collection. OSError where the disk refuses.
    """
    path = folder / COLLECTION_FILE
    raw = path.read_bytes()
    mark = raw[: len(b"\xef\xbb\xbf")] if raw.startswith(b"\xef\xbb\xbf") else b""
    text = raw.removeprefix(mark).decode("utf-8")
    try:
        for tree, told in sorted(facts.items()):
            text = with_facts(text, tree, told)
    except NotInserted as fault:
        raise ProblemsFound([Problem(COLLECTION_FILE, 0, str(fault))]) from None
    located, problems = parse_yaml(text, COLLECTION_FILE)
    if located is not None:
        problems = [*problems, *validate(located, Collection)[1]]
    if problems:
        raise ProblemsFound(problems)
    count = sum(len(told) for told in facts.values())
    if count:
        write_whole(path, mark + text.encode("utf-8"))
    return count
