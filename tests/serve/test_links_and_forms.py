"""Secret links and the tokens of forms."""

import re
import stat
from datetime import date
from pathlib import Path

import pytest
from example_copy import A_FEW, copied

from care_planner.calendar.faults import CannotWrite
from care_planner.problems import ProblemsFound
from care_planner.serve.forms import ASKED_DAYS, form_token, is_same_origin, read_form_token
from care_planner.serve.read_shares import read_shares
from care_planner.serve.share_links import share_add, share_list, share_renew, share_revoke
from care_planner.serve.shares import digest_of, find_share
from care_planner.serve.subscribe import is_host

TODAY = date(2027, 5, 29)
NONE = {"tree": None, "bench": None, "taxon": None, "work": None}


def add(folder: Path, name: str, **scope: str) -> str:
    lines = share_add(folder, name, {**NONE, **scope}, False, "https://trees.example", TODAY)  # type: ignore[dict-item]
    found = re.search(r"https://trees\.example/g/([\w-]+)/", "\n".join(lines))
    assert found is not None
    return found.group(1)


def problems(folder: Path, name: str, **scope: str) -> list[str]:
    with pytest.raises(ProblemsFound) as found:
        add(folder, name, **scope)
    return list(map(str, found.value.problems))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return copied(tmp_path / "trees", A_FEW)


def test_a_secret_has_128_bits_or_more_and_only_its_digest_is_kept(folder: Path) -> None:
    secrets = {add(folder, name) for name in ("anna", "ben", "cleo")}
    assert len(secrets) == 3 and all(len(secret) * 6 >= 128 for secret in secrets)
    path = folder / ".shares.json"
    assert not any(secret in path.read_text(encoding="utf-8") for secret in secrets)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert {share.digest for share in read_shares(folder)} == {digest_of(secret) for secret in secrets}


def test_a_renewed_link_works_and_its_old_one_does_not(folder: Path) -> None:
    old = add(folder, "anna", bench="open")
    line = share_renew(folder, "anna", "https://trees.example", TODAY)[1]
    new = line.rstrip("/").split("/")[-1]
    shares = read_shares(folder)
    assert find_share(shares, old) is None and find_share(shares, new) is not None
    assert share_list(folder) == ["anna: bench open, reads only, since 2027-05-29"]
    share_revoke(folder, "anna")
    assert read_shares(folder) == []


def test_mistakes_are_told_with_what_is_allowed(folder: Path) -> None:
    add(folder, "anna")
    assert problems(folder, "anna") == [
        "NAME: there is a link for 'anna' already; allowed: another name, or renew this one"
    ]
    assert problems(folder, "ben", tree="sats-1") == ["--tree: unknown tree 'sats-1'; did you mean sats-01?"]
    assert problems(folder, "ben", work="prunning") == [
        "--work: unknown kind of work 'prunning'; did you mean pruning?"
    ]
    assert problems(folder, "ben", tree="sats-01", bench="open") == [
        "--tree and --bench: more than one; allowed: one of them, or none"
    ]
    assert problems(folder, "a\x1b[31m\nb") == [
        "NAME: 'a [31m b' cannot be a name; allowed: one line of 1 to 60 characters"
    ]
    with pytest.raises(ProblemsFound, match=r"there is no link for 'ana'; did you mean anna\?"):
        share_revoke(folder, "ana")


def test_a_broken_file_of_links_is_never_taken_for_an_empty_one(folder: Path) -> None:
    add(folder, "anna")
    (folder / ".shares.json").write_text('{"version": 1, "sha', encoding="utf-8")
    with pytest.raises(CannotWrite):
        add(folder, "ben")
    assert (folder / ".shares.json").read_text(encoding="utf-8") == '{"version": 1, "sha'


def test_a_form_is_ours_fresh_and_of_this_link() -> None:
    token = form_token("secret", 1000, "n" * 20)
    assert read_form_token("secret", token, 1000) == "n" * 20
    assert read_form_token("secret", token, 1001) == "n" * 20
    assert read_form_token("secret", token, 1002) is None
    assert read_form_token("secret", token, 1400, ASKED_DAYS) == "n" * 20
    assert read_form_token("secret", token, 1401, ASKED_DAYS) is None
    assert read_form_token("other", token, 1000, ASKED_DAYS) is None
    assert read_form_token("other", token, 1000) is None
    assert read_form_token("secret", token.replace("1000", "1001", 1), 1001) is None
    assert read_form_token("secret", token + "0", 1000) is None


@pytest.mark.parametrize(
    ("origin", "site", "same"),
    [("https://trees.example", "same-origin", True), ("null", "same-origin", True), (None, None, True),
     ("null", None, True), ("https://TREES.example", None, True), ("https://evil.example", None, False),
     ("https://trees.example.evil.example", None, False), ("null", "cross-site", False),
     ("https://trees.example", "same-site", False), (None, "none", False)],
)  # fmt: skip
def test_forms_come_from_the_same_origin(origin: str | None, site: str | None, same: bool) -> None:
    assert is_same_origin("trees.example", origin, site) is same


@pytest.mark.parametrize("host", ["trees.example", "127.0.0.1:8437", "[::1]:8437", "localhost"])
def test_hosts(host: str) -> None:
    assert is_host(host)


@pytest.mark.parametrize("host", ["", "a b", "a/b", "a@b", 'x"><script>', "a\r\nb", ".", "x:123456"])
def test_what_is_no_host(host: str) -> None:
    assert not is_host(host)
