"""Notes that waited in a browser: many in one request, each noted once, an answer for each."""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from care_planner.journal.lines import ID_LENGTH, ID_LETTERS, ID_START
from care_planner.serve.notebook import FormOutcome

MOST_NOTES = 200
_ID = re.compile(f"{ID_START}[{ID_LETTERS}]{{{ID_LENGTH}}}")

Sent = Mapping[str, Sequence[str]]


class NotAnOutbox(Exception):
    """What was sent is not what the worker sends."""


def parse_outbox(data: Any) -> list[tuple[str, dict[str, list[str]]]]:
    """Ids and fields of the notes, in the order in which they were made. Raises NotAnOutbox."""
    if not isinstance(data, list) or len(data) > MOST_NOTES:
        raise NotAnOutbox
    found = []
    for row in data:
        if not isinstance(row, dict) or not isinstance(row.get("fields"), list):
            raise NotAnOutbox
        id = row.get("id")
        if not isinstance(id, str) or not _ID.fullmatch(id):
            raise NotAnOutbox
        fields: dict[str, list[str]] = {}
        for pair in row["fields"]:
            if not (
                isinstance(pair, list) and len(pair) == 2 and all(isinstance(part, str) for part in pair)
            ):
                raise NotAnOutbox
            if pair[0] != "form":
                fields.setdefault(pair[0], []).append(pair[1])
        found.append((id, {**fields, "id": [id]}))
    return found


def answers(
    notes: Sequence[tuple[str, dict[str, list[str]]]], take: Callable[[str, Sent], FormOutcome]
) -> list[dict[str, str]]:
    """One answer a note: noted, have (it was noted before), doubt or wrong with words, or later."""
    return [{"id": id, **_answer(take(id, fields))} for id, fields in notes]


def _answer(outcome: FormOutcome) -> dict[str, str]:
    if outcome.too_many or outcome.fault:
        return {"status": "later"}
    if outcome.doubts:
        return {"status": "doubt", "words": ". ".join((*outcome.about, *outcome.doubts))}
    if outcome.wrong:
        return {"status": "wrong", "words": ". ".join(outcome.wrong)}
    return {"status": "have" if outcome.known or not outcome.entries else "noted"}
