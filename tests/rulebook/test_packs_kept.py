"""A shipped pack is read once, and again as soon as its file is another."""

import os
import shutil
from pathlib import Path

from care_planner.rulebook.read_packs import read_rulebook, shipped_folder


def test_a_pack_that_was_changed_is_read_again(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(shipped_folder(), folder)

    def title() -> str:
        found, problems = read_rulebook(shipped=folder, taxa=["wisteria"])
        assert not problems
        return found.taxa["wisteria"].title

    before, path = title(), folder / "wisteria.yaml"
    assert title() == before
    path.write_text(
        path.read_text(encoding="utf-8").replace(f"title: {before}", "title: Climber", 1), "utf-8"
    )
    os.utime(path, ns=(1, 1))
    assert title() == "Climber"
    path.unlink()
    assert "wisteria" not in read_rulebook(shipped=folder)[0].taxa
