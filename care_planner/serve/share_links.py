"""Secret links to a collection: add, list, renew, revoke."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path

from care_planner.collection.model import Collection
from care_planner.collection.read_collection import read_collection
from care_planner.problems import Problem, ProblemsFound
from care_planner.serve.address import (
    THIS_MACHINE,
    address_problem,
    address_words,
    is_this_machine,
    terminal_code,
)
from care_planner.serve.read_shares import read_shares
from care_planner.serve.scope import Scope, ScopeKind, scope_problem
from care_planner.serve.shares import Share, add_share, digest_of, renew_share, revoke_share
from care_planner.serve.write_address import read_address, write_address
from care_planner.serve.write_shares import change_shares, new_secret
from care_planner.show.wrapping import wrapped


def share_add(
    folder: Path,
    name: str,
    wanted: Mapping[ScopeKind, str | None],
    may_note: bool,
    url: str,
    today: date,
) -> list[str]:
    """Make a link and return lines with its address, which is shown this once.

    `wanted` holds at most one of tree, bench, taxon and work; everything where none is told. `url` is where
    the collection is served. Raises ProblemsFound, CannotWrite or OSError; then no link was made.
    """
    scope = _scope(wanted, _collection(folder))
    secret = new_secret()
    share = Share(name, scope, may_note, digest_of(secret), today)
    change_shares(folder, lambda shares: add_share(shares, share))
    noting = "may note" if may_note else "reads only"
    gives = wrapped(scope.gives_away(may_note), "  ")
    return [f"{name}: {scope.words()}, {noting}", *gives, *_address(url, secret)]


def share_renew(folder: Path, name: str, url: str, today: date) -> list[str]:
    """Give a link a new secret; its old address no longer works."""
    _collection(folder)
    secret = new_secret()
    change_shares(folder, lambda shares: renew_share(shares, name, secret, today))
    return [f"{name}: a new link; the old one no longer works", *_address(url, secret)]


def share_revoke(folder: Path, name: str) -> list[str]:
    """Take a link away."""
    _collection(folder)
    change_shares(folder, lambda shares: revoke_share(shares, name))
    return [f"{name}: the link no longer works"]


def share_list(folder: Path) -> list[str]:
    """The links, without their secrets, which are not kept."""
    _collection(folder)
    shares = read_shares(folder)
    if not shares:
        return [f"there is no link yet; make one with: care-planner share {folder} add NAME"]
    return [_line(share) for share in shares]


def _line(share: Share) -> str:
    noting = "may note" if share.may_note else "reads only"
    return f"{share.name}: {share.scope.words()}, {noting}, since {share.since}"


def _address(url: str, secret: str) -> Sequence[str]:
    address = f"{url.rstrip('/')}/g/{secret}/"
    code = [] if is_this_machine(url) else terminal_code(address)
    shown = "  shown this once: send it to its owner, and to nobody else"
    return [f"  {address}", shown, *address_words(url), *code]


def public_address(folder: Path, given: str | None, ask: Callable[[], str]) -> str:
    """The address to put into links: the one given, which is remembered, else the one remembered, else what
    `ask` says, else this machine's. Raises ProblemsFound for what is no address, or OSError.
    """
    url = given or read_address(folder) or ask()
    if not url:
        return THIS_MACHINE
    problem = address_problem(url)
    if problem is not None:
        raise ProblemsFound([problem])
    if url != read_address(folder):
        _collection(folder)
        write_address(folder, url)
    return url


def _scope(wanted: Mapping[ScopeKind, str | None], collection: Collection) -> Scope:
    told: list[tuple[ScopeKind, str]] = [(kind, value) for kind, value in wanted.items() if value is not None]
    if len(told) > 1:
        names = " and ".join(f"--{kind}" for kind, _ in told)
        raise ProblemsFound([Problem(names, 0, "more than one", "allowed: one of them, or none")])
    scope = Scope(*told[0]) if told else Scope()
    problem = scope_problem(scope, collection)
    if problem is not None:
        raise ProblemsFound([problem])
    return scope


def _collection(folder: Path) -> Collection:
    collection, _, problems = read_collection(folder)
    if collection is None:
        raise ProblemsFound(problems)
    return collection
