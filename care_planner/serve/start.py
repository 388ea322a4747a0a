"""Serve a collection's feeds and pages: says what is exposed, then runs until it is stopped."""

from collections.abc import Callable
from datetime import datetime
from ipaddress import ip_address
from pathlib import Path

from care_planner.collection.read_collection import read_collection
from care_planner.note.take import take
from care_planner.problems import ProblemsFound
from care_planner.serve.fetch_own_address import fetch_own_address
from care_planner.serve.read_shares import read_shares
from care_planner.serve.run_server import run_server

EVERY_ADDRESS = ("0.0.0.0", "::")  # asked to listen on all that the machine has
REACHED = """\
{host} can be reached from outside this machine. Whoever has a secret link sees what it shows,
and whoever listens on the way sees the link: put a proxy with https in front (care-planner
manual phone). Without one, a crowd of slow connections can make others wait: requests get
12 seconds, one address a quarter of all connections, and more is not done here.
"""
Say = Callable[[str], None]


def serve(
    folder: Path,
    host: str,
    port: int,
    clock: Callable[[str], datetime],
    ticks: Callable[[], float],
    say: Say,
) -> None:
    """Serve `folder` until interrupted. `clock` tells the time in a zone, `ticks` seconds that only rise.

    Raises ProblemsFound for a folder that is no collection, CannotWrite or OSError for the machine's faults.
    A collection with mistakes in it is served with what was last good.
    """
    collection, located, problems = read_collection(folder)
    if collection is None and located is None:
        raise ProblemsFound(problems)
    shares = read_shares(folder)
    if not is_loopback(host):
        for line in REACHED.format(host=host).splitlines():
            say(line)
        own = fetch_own_address() if host in EVERY_ADDRESS else ""
        if own:
            say(f"a phone in the same house reaches it at http://{own}:{port} (name it to share with --url)")
    if not shares:
        say(f"there is no link yet; make one with: care-planner share {folder} add NAME --may-note")
    for share in shares:
        noting = ", may note" if share.may_note else ""
        say(f"link for {share.name}: {share.scope.words()}{noting}")
    run_server(folder, host, port, clock, ticks, take, say)


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach the address."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
