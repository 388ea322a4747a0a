"""What one short text says: every form, and mistyped words that must not end as free text."""

import pytest

from care_planner.journal.words import KEPT, Heard, Known, parse_what
from care_planner.typed_yaml.models import Mistake

KNOWN = Known(
    stages=frozenset({"bud-swell", "first-flower", "third-open", "half-open", "end-of-bloom", "root-rot"}),
    rules=frozenset({"repot", "prune-after-bloom", "shelter", "remaining-buds-off"}),
    works=frozenset({"prune", "deflower"}),
    benches=frozenset({"shed", "frost-pocket"}),
)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("first-flower", {"saw": "first-flower"}),
        ("  First   Flower ", {"saw": "first-flower"}),
        ("root-rot", {"saw": "root-rot"}),
        ("open 40%", {"saw": {"open": 0.4}}),
        ("open 40 %", {"saw": {"open": 0.4}}),
        ("open 0.4", {"saw": {"open": 0.4}}),
        ("open 1", {"saw": {"open": 1.0}}),
        ("open 100%", {"saw": {"open": 1.0}}),
        ("not-yet", {"saw": "not-yet"}),
        ("not yet", {"saw": "not-yet"}),
        ("not-yet first-flower", {"saw": {"not-yet": "first-flower"}}),
        ("BBCH 60", {"saw": "60"}),
        ("60", {"saw": "60"}),
        ("09", {"saw": "09"}),
        ("did prune-after-bloom", {"did": "prune-after-bloom"}),
        ("repotted", {"did": "repotted"}),
        ("root-pruned", {"did": "root-pruned"}),
        ("pruned", {"did": "pruned"}),
        ("deflower", {"did": "deflower"}),
        ("skipped shelter", {"skipped": "shelter"}),
        ("put off shelter until 2027-06-01", {"put_off": "shelter", "until": "2027-06-01"}),
        ("did repot on 12 of 24", {"did": "repot", "count": 12}),
        ("moved-to frost-pocket", {"moved_to": "frost-pocket"}),
        ("moved to shed", {"moved_to": "shed"}),
        ("condition weak", {"condition": "weak"}),
        ("take-back n-2x", {"takes_back": "n-2x"}),
        ("note did repot", {"note": "did repot"}),
        ("note: aphids", {"note": "aphids"}),
        ("40% open", {"saw": {"open": 0.4}}),
        ("repot", {"did": "repot"}),
        ("prune after bloom", {"did": "prune-after-bloom"}),
        ("weak", {"condition": "weak"}),
    ],
)
def test_forms(what: str, said: dict[str, object]) -> None:
    assert parse_what(what, KNOWN) == Heard(said)


@pytest.mark.parametrize("what", ["leaves a little yellow: 'new' water?", "Not much growth this year"])
def test_other_words_are_kept_and_said_to_be_kept(what: str) -> None:
    assert parse_what(what, KNOWN) == Heard({"note": what}, KEPT)


@pytest.mark.parametrize(
    ("what", "meant"),
    [
        ("fist-flower", "first-flower"),
        ("frist flower", "first-flower"),
        ("opn 40%", "open 40%"),
        ("oepn 0.4", "open 0.4"),
        ("no-yet", "not-yet"),
        ("not yt", "not-yet"),
        ("nto-yet first-flower", "not-yet first-flower"),
        ("BCH 60", "bbch 60"),
        ("dod repot", "did repot"),
        ("dd repot", "did repot"),
        ("skiped shelter", "skipped shelter"),
        ("moved-too shed", "moved-to shed"),
        ("shed", "moved-to shed"),
        ("conditon weak", "condition weak"),
        ("takeback n-2x", "take-back n-2x"),
    ],
)
def test_a_mistyped_word_is_never_free_text(what: str, meant: str) -> None:
    assert parse_what(what, KNOWN) == Mistake(
        f"'{what}' is not understood", f"did you mean {meant}? free text begins with: note"
    )


@pytest.mark.parametrize(
    ("what", "wrong", "allowed"),
    [
        ("", "nothing is said", "allowed: a stage such as first-flower"),
        ("note", "the note is empty", "allowed: a stage such as first-flower"),
        ("aphids", "'aphids' is not understood", "a single word as free text begins with: note"),
        ("open", "'open' how far?", "allowed: open and a share such as 40%"),
        ("open wide", "'open wide'", "allowed: open and a share such as 40%"),
        ("open 40", "'open 40' is more than all flowers", "did you mean open 40%?"),
        ("open 140%", "'open 140%' is more than all flowers", "allowed: 0% to 100%"),
        ("open -1", "'open -1'", "allowed: open and a share such as 40%"),
        ("100", "'100' is no BBCH code", "allowed: 0 to 99"),
        ("bbch", "'' is no BBCH code", "allowed: 0 to 99"),
        ("did", "'did' of what?", "allowed: did and a rule's id"),
        ("did the big cut", "'did the big cut' does not name a rule's id", "free text begins with: note"),
        ("not-yet a Flower!", "'not-yet a flower!' does not name a stage", "free text begins with: note"),
        ("condition wek", "condition is 'wek'", "did you mean weak?"),
    ],
)
def test_what_cannot_be_is_said(what: str, wrong: str, allowed: str) -> None:
    found = parse_what(what, KNOWN)
    assert isinstance(found, Mistake)
    assert found.what == wrong
    assert allowed in found.allowed
