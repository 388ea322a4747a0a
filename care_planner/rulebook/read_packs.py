"""Reads rule packs: ours, and the grower's own laid over them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

from care_planner.problems import Problem, did_you_mean
from care_planner.rulebook.checks import COMMON_STAGES, Names, check_rule, check_stage, check_taxon
from care_planner.rulebook.graph import Circle, resolving_order
from care_planner.rulebook.overlays import OwnFile, PlacedRule, lay_over
from care_planner.rulebook.pack import Origin, OwnPack, Pack, Rulebook, TaxonRules
from care_planner.typed_yaml.read_yaml import Located, read_yaml, validate

PACKS_KEPT = 32


@dataclass(frozen=True, eq=False)
class PackFile:
    """A pack with the file it was read from."""

    pack: Pack
    located: Located


def shipped_folder() -> Path:
    """Where the packs that come with the program are: in the wheel, or beside the package in a checkout."""
    inside = Path(str(files("care_planner"))) / "rules"
    return inside if inside.is_dir() else inside.parent.parent / "rules"


def read_rulebook(
    own_folder: Path | None = None, taxa: Iterable[str] | None = None, shipped: Path | None = None
) -> tuple[Rulebook, list[Problem]]:
    """The rules in force.

    `own_folder` holds the grower's packs (it may be missing); `taxa` limits the reading of shipped
    packs to those needed. Taxa that have mistakes are left out of the rulebook, their problems told.
    """
    folder = shipped or shipped_folder()
    names = sorted(path.stem for path in folder.glob("*.yaml"))
    own_packs, overlays, problems = _read_own(own_folder)
    wanted = _wanted(names, own_packs, taxa)
    packs: dict[str, PackFile] = {}
    while wanted:
        name = wanted.pop()
        if name in packs or name in own_packs or name not in names:
            continue
        found, faults = _read_pack(folder / f"{name}.yaml", f"rules/{name}.yaml")
        problems += faults
        if found is not None:
            packs[name] = found
            wanted += found.pack.stands_on
    packs.update(own_packs)
    problems += [p for overlay in overlays for p in _known_base(overlay, {*names, *packs})]
    built = {}
    for name in sorted(packs):
        if packs[name].pack.taxon is not None:
            rules, faults = _build(name, packs, overlays, {*names, *packs})
            problems += faults
            if rules is not None and not faults:
                built[name] = rules
    return Rulebook(built, tuple(sorted({*names, *packs}))), sorted(set(problems))


def _wanted(names: list[str], own: Mapping[str, PackFile], taxa: Iterable[str] | None) -> list[str]:
    wanted = list(names) if taxa is None else [name for name in sorted(set(taxa)) if name in names]
    return wanted + [base for file in own.values() for base in file.pack.stands_on]


def _read_pack(path: Path, shown_as: str) -> tuple[PackFile | None, Sequence[Problem]]:
    try:
        held = path.stat()
    except OSError:  # reading it says what is wrong
        return _pack_of.__wrapped__(path, shown_as, (0, 0))
    return _pack_of(path, shown_as, (held.st_mtime_ns, held.st_size))


@lru_cache(maxsize=PACKS_KEPT)
def _pack_of(path: Path, shown_as: str, stamp: tuple[int, int]) -> tuple[PackFile | None, Sequence[Problem]]:
    """A shipped pack, read once as long as its file stays as it was (`stamp`): no pack is ever changed."""
    located, problems = read_yaml(path, shown_as)
    if located is None:
        return None, problems
    pack, faults = validate(located, Pack)
    return (PackFile(pack, located) if pack is not None else None), [*problems, *faults]


def _read_own(folder: Path | None) -> tuple[dict[str, PackFile], list[OwnFile], list[Problem]]:
    packs: dict[str, PackFile] = {}
    overlays: list[OwnFile] = []
    problems: list[Problem] = []
    for path in sorted(folder.glob("*.yaml")) if folder is not None and folder.is_dir() else ():
        located, faults = read_yaml(path, f"rules/{path.name}", may_be_empty=True)
        problems += faults
        if located is None or located.data is None:
            continue
        if isinstance(located.data, dict) and "lays_over" in located.data:
            own, faults = validate(located, OwnPack)
            if own is not None:
                overlays.append(OwnFile(own, located))
        else:
            pack, faults = validate(located, Pack)
            if pack is not None and pack.pack in packs:
                line = located.line(("pack",))
                faults.append(
                    Problem(located.file, line, f"a second pack '{pack.pack}'", "one file for each pack")
                )
            elif pack is not None:
                packs[pack.pack] = PackFile(pack, located)
        problems += faults
    return packs, overlays, problems


def _known_base(overlay: OwnFile, names: set[str]) -> list[Problem]:
    base = overlay.own.lays_over
    if base in names:
        return []
    line = overlay.located.line(("lays_over",))
    return [Problem(overlay.located.file, line, f"unknown pack '{base}'", did_you_mean(base, names))]


def _stack(name: str, packs: Mapping[str, PackFile]) -> list[str]:
    """The packs a pack stands on, deepest first, itself last; each once."""
    order: list[str] = []

    def visit(pack: str, above: tuple[str, ...]) -> None:
        if pack in order or pack in above or pack not in packs:
            return
        for base in packs[pack].pack.stands_on:
            visit(base, (*above, pack))
        order.append(pack)

    visit(name, ())
    return order


def _build(
    name: str, packs: Mapping[str, PackFile], overlays: list[OwnFile], known: set[str]
) -> tuple[TaxonRules | None, list[Problem]]:
    own = packs[name]
    taxon = own.pack.taxon
    assert taxon is not None
    stack = _stack(name, packs)
    problems = _missing_bases(stack, packs, known) + _doubles(stack, packs)
    placed = _placed_rules(stack, packs)
    placed, faults = lay_over(placed, [o for o in overlays if o.own.lays_over in stack])
    problems += faults
    stages = {stage.id: stage for stage in own.pack.stages}
    rules = {id: p.rule for id, p in placed.items()}
    signs = frozenset(sign for pack in stack for sign in packs[pack].pack.signs)
    removed = frozenset(id for overlay in overlays for id in overlay.own.remove)
    names = Names(taxon, stages, rules, signs, removed)
    problems += [placed[id].problem(found) for id, rule in rules.items() for found in check_rule(rule, names)]
    problems += _stage_problems(own, names)
    problems += _unknown_said_as(stack, packs, names)
    if problems:
        return None, problems
    try:
        order = resolving_order(taxon, stages, rules)
    except Circle as circle:
        return None, [_circle_problem(circle, own, placed)]
    sources = {key: text for pack in stack for key, text in packs[pack].pack.sources.items()}
    origins = {id: p.origin for id, p in placed.items()}
    forms = next((packs[pack].pack.forms for pack in reversed(stack) if packs[pack].pack.forms), None)
    said_as = _said_as(stack, packs)
    return (
        TaxonRules(
            name,
            own.pack.title,
            taxon,
            stages,
            rules,
            origins,
            signs,
            sources,
            order,
            forms,
            said_as,
            scores=own.pack.scores,
        ),
        problems,
    )


def _said_as(stack: list[str], packs: Mapping[str, PackFile]) -> dict[str, tuple[str, ...]]:
    """Other words of all packs of the stack, the nearest pack's first."""
    found: dict[str, tuple[str, ...]] = {}
    for name in reversed(stack):
        for id, phrases in packs[name].pack.said_as.items():
            found[id] = (*found.get(id, ()), *phrases)
    return found


def _unknown_said_as(stack: list[str], packs: Mapping[str, PackFile], names: Names) -> list[Problem]:
    known = {*names.stages, *names.signs, *names.works}
    return [
        Problem(
            file.located.file,
            file.located.line(("said_as", id)),
            f"said_as of unknown '{id}'",
            did_you_mean(id, known),
        )
        for file in (packs[stack[-1]],)
        for id in file.pack.said_as
        if id not in known
    ]


def _missing_bases(stack: list[str], packs: Mapping[str, PackFile], known: set[str]) -> list[Problem]:
    problems = []
    for name in stack:
        file = packs[name]
        for i, base in enumerate(file.pack.stands_on):
            if base not in known:
                line = file.located.line(("stands_on", i))
                problems.append(
                    Problem(file.located.file, line, f"unknown pack '{base}'", did_you_mean(base, known))
                )
    return problems


def _doubles(stack: list[str], packs: Mapping[str, PackFile]) -> list[Problem]:
    """Two equal ids inside one pack: one would silently hide the other."""
    problems = []
    for name in stack:
        file = packs[name]
        ids = {"rules": [r.id for r in file.pack.rules], "stages": [s.id for s in file.pack.stages]}
        for part, names in ids.items():
            for i, id in enumerate(names):
                if names.index(id) < i:
                    line = file.located.line((part, i, "id"))
                    before = file.located.line((part, names.index(id), "id"))
                    what = f"{part[:-1]} '{id}' stands here a second time, first on line {before}"
                    problems.append(Problem(file.located.file, line, what, "one of each id in a pack"))
    return problems


def _placed_rules(stack: list[str], packs: Mapping[str, PackFile]) -> dict[str, PlacedRule]:
    """Rules of the stack; the nearer pack's rule replaces one of the same id and keeps its place."""
    placed: dict[str, PlacedRule] = {}
    for name in stack:
        file = packs[name]
        for i, rule in enumerate(file.pack.rules):
            path = ("rules", i)
            origin = Origin(name, file.located.file)
            placed[rule.id] = PlacedRule(rule, origin, file.located, path, file.located.at(path))
    return placed


def _stage_problems(file: PackFile, names: Names) -> list[Problem]:
    located = file.located
    problems = [
        Problem(located.file, located.line(("taxon", *where)), what, allowed)
        for where, what, allowed in check_taxon(names)
    ]
    for i, stage in enumerate(file.pack.stages):
        for where, what, allowed in check_stage(stage, names):
            line = located.line(("stages", i, *where))
            problems.append(Problem(located.file, line, f"stage {stage.id}: {what}", allowed))
    missing = [id for id in COMMON_STAGES if id not in names.stages]
    if missing:
        what = f"the taxon lacks the stages {', '.join(missing)}"
        problems.append(Problem(located.file, located.line(("stages",)), what, "every taxon has them"))
    return problems


def _circle_problem(circle: Circle, file: PackFile, placed: Mapping[str, PlacedRule]) -> Problem:
    allowed = "each stage and work waits only for what comes before it"
    first = circle.ids[0]
    if first in placed:
        where = placed[first]
        return Problem(where.located.file, where.located.line(where.path), f"a circle: {circle}", allowed)
    index = next((i for i, stage in enumerate(file.pack.stages) if stage.id == first), 0)
    line = file.located.line(("stages", index))
    return Problem(file.located.file, line, f"a circle: {circle}", allowed)
