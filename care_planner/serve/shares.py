"""Secret links, one a person: made, found, renewed and revoked. Only a digest of each secret is kept.

The secrets are 192 random bits, so a plain SHA-256 hides them: there is nothing to guess that a slow hash
would have to slow down (OWASP's and NIST SP 800-63B's advice on slow hashes is for passwords people choose).
"""

import hmac
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from typing import Any

from care_planner.calendar.text import one_line
from care_planner.problems import Problem, did_you_mean
from care_planner.serve.scope import SCOPE_KINDS, Scope

SECRET_BYTES = 24
LONGEST_SHARE_NAME = 60
_VERSION = 1
_DIGEST = re.compile(r"[0-9a-f]{64}")


class BrokenShares(Exception):
    """The file of links is not what this program wrote."""


@dataclass(frozen=True, slots=True)
class Share:
    """One person's link. `since` is the day on which its present secret was made."""

    name: str
    scope: Scope
    may_note: bool
    digest: str
    since: date


def digest_of(secret: str) -> str:
    """What is kept of a secret."""
    return sha256(secret.encode("utf-8", "replace")).hexdigest()


def find_share(shares: Iterable[Share], secret: str) -> Share | None:
    """The link with this secret. Every link is compared, each in constant time."""
    digest = digest_of(secret)
    found = None
    for share in shares:
        if hmac.compare_digest(share.digest, digest):
            found = share
    return found


def add_share(shares: Sequence[Share], share: Share) -> tuple[list[Share], list[Problem]]:
    """The links with one more; its name must be new, and one clean line."""
    if not share.name or share.name != one_line(share.name, LONGEST_SHARE_NAME):
        what = f"{one_line(share.name, LONGEST_SHARE_NAME)!r} cannot be a name"
        return list(shares), [
            Problem("NAME", 0, what, f"allowed: one line of 1 to {LONGEST_SHARE_NAME} characters")
        ]
    if any(one.name == share.name for one in shares):
        what = f"there is a link for '{share.name}' already"
        return list(shares), [Problem("NAME", 0, what, "allowed: another name, or renew this one")]
    return sorted([*shares, share], key=lambda one: one.name), []


def renew_share(
    shares: Sequence[Share], name: str, secret: str, today: date
) -> tuple[list[Share], list[Problem]]:
    """The links with a new secret for one; its old address no longer works."""
    problems = _unknown(shares, name)
    renewed = [
        replace(one, digest=digest_of(secret), since=today) if one.name == name else one for one in shares
    ]
    return renewed, problems


def revoke_share(shares: Sequence[Share], name: str) -> tuple[list[Share], list[Problem]]:
    """The links without one."""
    return [one for one in shares if one.name != name], _unknown(shares, name)


def _unknown(shares: Sequence[Share], name: str) -> list[Problem]:
    if any(one.name == name for one in shares):
        return []
    what = f"there is no link for '{one_line(name, LONGEST_SHARE_NAME)}'"
    return [Problem("NAME", 0, what, did_you_mean(name, [one.name for one in shares]))]


def shares_text(shares: Iterable[Share]) -> bytes:
    """The links as JSON, one a line."""
    rows = [json.dumps(_row(share), ensure_ascii=False) for share in shares]
    return (f'{{"version": {_VERSION}, "shares": [\n' + ",\n".join(rows) + "\n]}\n").encode()


def parse_shares(data: bytes) -> list[Share]:
    """The links a text holds. Raises BrokenShares for what `shares_text` did not write."""
    try:
        state = json.loads(data)
        if state["version"] != _VERSION:
            raise BrokenShares
        return [_share(row) for row in state["shares"]]
    except (ValueError, KeyError, TypeError, RecursionError) as fault:
        raise BrokenShares from fault


def _row(share: Share) -> dict[str, Any]:
    return {
        "name": share.name,
        "scope": share.scope.kind,
        "value": share.scope.value,
        "may_note": share.may_note,
        "digest": share.digest,
        "since": share.since.isoformat(),
    }


def _share(row: dict[str, Any]) -> Share:
    if row["scope"] not in SCOPE_KINDS or not _DIGEST.fullmatch(row["digest"]):
        raise ValueError("no link")
    scope = Scope(row["scope"], str(row["value"]))
    since = date.fromisoformat(row["since"])
    return Share(str(row["name"]), scope, row["may_note"] is True, row["digest"], since)
