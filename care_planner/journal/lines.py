"""An entry as one line of text, and what a line looks like that was cut off while it was written.

Lines written for a person begin with the entry's id, which no one types first: so a line that a stop or
a full disk cut off is told from a line that somebody is still writing. Pure: no disk.
"""

import json
import re
from datetime import date

from care_planner.journal.model import JournalFile, WrittenEntry
from care_planner.typed_yaml.located import parse_yaml
from care_planner.typed_yaml.validate import validate

ID_START = "n-"
ID_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"  # none that are taken for one another
ID_LENGTH = 8  # 31^8: two devices that never met do not choose alike
_LINE_START = f"- {{id: {ID_START}".encode()
_OWN_LINE = re.compile(re.escape(_LINE_START) + rb"[a-z0-9]+, .*\}")
# What no reader of YAML 1.1 or 1.2 takes for anything but text.
_PLAIN = re.compile(r"(?!(?:null|true|false|yes|no|on|off|y|n)$)[a-z][a-z0-9-]*")


def entry_line(entry: WrittenEntry) -> str:
    """The entry as one line of a YAML list, its id first, with its line break."""
    said = entry.model_dump(by_alias=True, exclude_none=True)
    told = {"id": said.pop("id"), "date": said.pop("date"), **said}
    return f"- {_flow({key: value for key, value in told.items() if value != ()})}\n"


def _flow(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_flow, value)) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    text = value if isinstance(value, str) else repr(value)
    # JSON's quotes and escapes are YAML's too.
    return (
        text if not isinstance(value, str) or _PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)
    )


def cut_off(raw: bytes) -> bytes:
    """The end of a file that is the beginning of a line of ours and no whole entry; empty where all is well.

    A power cut may leave zeros where a line was to stand: they count as cut off too.
    """
    last = raw[raw.rfind(b"\n") + 1 :]
    text = last.rstrip(b"\0")
    if not last or not (text.startswith(_LINE_START) or _LINE_START.startswith(text)):
        return b""
    return b"" if text == last and _is_entry(text) else last


def _is_entry(line: bytes) -> bool:
    try:
        located, problems = parse_yaml(line.decode(), "")
    except UnicodeDecodeError:
        return False
    return located is not None and not problems and not validate(located, JournalFile)[1]


def may_grow(raw: bytes) -> bool:
    """Whether a line can be added to this file: it holds nothing but whole lines written as ours are.

    So nothing is added to a file that a person keeps in another form, nor after a line that would draw
    the new one into itself.
    """
    if not raw:
        return True
    lines = raw.split(b"\n")
    if lines.pop() or not all(_OWN_LINE.fullmatch(line) for line in lines):
        return False
    try:
        located, problems = parse_yaml(raw.decode(), "")
    except UnicodeDecodeError:
        return False
    return located is not None and not problems and len(located.data) == len(lines)
