"""The table of all rules, generated from the packs that come with the program: rules/TABLE.md.

python -m care_planner.tools.write_rule_table
"""

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from care_planner.problems import ProblemsFound
from care_planner.rulebook.condition import FACTS, Condition
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.rulebook.read_packs import read_rulebook, shipped_folder
from care_planner.rulebook.rule import AnotherWork, Rule
from care_planner.words.moments import moment_words

TABLE_FILE = "TABLE.md"
_HEAD = """\
# All rules

Generated from the packs by `python -m care_planner.tools.write_rule_table`; a test fails when it is
stale. What a rule says in full (what, why, cautions, examples) stands in its pack. Minutes are for a small
and a large tree. A rule that a nearer pack gives anew stands with that pack and replaces the common one
for its taxon.
"""
_COLUMNS = ("rule", "work", "for whom", "opens", "closes", "minutes", "source")
_SEASONS = {"previous": "last season", "this": "this season", "next": "next season"}


def table_text(rulebook: Rulebook) -> str:
    """The rules in force as Markdown, a table for each pack; the same text for the same packs."""
    packs: defaultdict[str, dict[str, Rule]] = defaultdict(dict)
    for taxon in rulebook.taxa.values():
        for id, rule in taxon.rules.items():
            packs[taxon.origins[id].pack][id] = rule
    parts = [_HEAD]
    for pack, rules in sorted(packs.items()):
        rows = [_row(_COLUMNS), _row("---" for _ in _COLUMNS), *(_rule_row(rule) for rule in rules.values())]
        parts.append("\n".join((f"## {_title(pack, rulebook.taxa.get(pack))}", "", *rows, "")))
    return "\n".join(parts)


def write_rule_table(folder: Path) -> None:
    """Write `folder/TABLE.md`. Raises ProblemsFound for mistakes in a pack, OSError if the disk refuses."""
    rulebook, problems = read_rulebook()
    if problems:
        raise ProblemsFound(problems)
    (folder / TABLE_FILE).write_text(table_text(rulebook), encoding="utf-8")


def _title(pack: str, taxon: TaxonRules | None) -> str:
    return f"{pack}: any tree in a pot" if taxon is None else f"{pack}: {taxon.title}"


def _rule_row(rule: Rule) -> str:
    minutes = f"{rule.minutes.small}, {rule.minutes.large}"
    opens, closes = (_end(rule, end) for end in ("opens", "closes"))
    return _row((f"`{rule.id}`", _title_words(rule), _for_whom(rule), opens, closes, minutes, rule.source))


def _end(rule: Rule, end: str) -> str:
    """When the window opens or closes, and for which trees at another moment."""
    words = [moment_words(getattr(rule, end))]
    words += [
        f"for {_condition(case.only)}: {moment_words(moment)}"
        for case in rule.cases
        if (moment := getattr(case, end)) is not None
    ]
    return "; ".join(words)


def _title_words(rule: Rule) -> str:
    return rule.title if rule.repeat is None else f"{rule.title} (every {rule.repeat.every_days} days)"


def _for_whom(rule: Rule) -> str:
    """The facts asked for and those that forbid it, in words."""
    parts = [f"only: {_condition(rule.only)}"] if rule.only.given() else []
    parts += [f"unless {_block(block)}" for block in rule.unless]
    parts += [f"at rest for {rest.days} days after {' or '.join(rest.after)}" for rest in rule.rests]
    if rule.heavy:
        parts.append("one heavy work a season")
    if rule.blocks:
        parts.append(f"such trees get no {' or '.join(rule.blocks)}")
    return "; ".join(parts) or "every tree"


def _block(block: Condition | AnotherWork) -> str:
    if isinstance(block, AnotherWork):
        return f"{' or '.join(block.work)} {_SEASONS[block.season]}"
    return _condition(block)


def _condition(condition: Condition) -> str:
    return ", ".join(_fact(fact, values) for fact, values in condition.given().items())


def _fact(fact: str, values: list[str]) -> str:
    words = FACTS[fact].words.removeprefix("the ").removeprefix("a ").replace("_", " ")
    return f"{words} {' or '.join(values).replace('not-told', 'not told')}"


def _row(cells: Iterator[str] | tuple[str, ...]) -> str:
    """One line of a table; a bar inside a cell would start another."""
    return "| " + " | ".join(" ".join(cell.split()).replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    write_rule_table(shipped_folder())
