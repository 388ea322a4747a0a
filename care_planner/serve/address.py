"""The address under which phones reach a collection: what works with it, and its code to scan."""

import io
import re
from ipaddress import ip_address

import segno

from care_planner.problems import Problem
from care_planner.serve.subscribe import is_host
from care_planner.show.wrapping import wrapped

THIS_MACHINE = "http://127.0.0.1:8437"
_ADDRESS = re.compile(r"(https?)://([^/\s?#@]+)(?:/[^\s?#]*)?", re.ASCII)


def address_problem(url: str) -> Problem | None:
    """What is wrong with an address that was given."""
    found = _ADDRESS.fullmatch(url)
    if found is not None and is_host(found[2]):
        return None
    return Problem("--url", 0, f"'{url}' is no address", "allowed: such as https://trees.example")


def is_this_machine(url: str) -> bool:
    """Whether nobody else can reach it."""
    found = _ADDRESS.fullmatch(url)
    host = re.sub(r":\d+$", "", found[2]).strip("[]") if found is not None else ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def address_words(url: str) -> list[str]:
    """What a person should know of an address, honestly."""
    if is_this_machine(url):
        reach = (
            "It works on this machine only. For a phone give the address that it can reach, which is then"
            " remembered: --url https://YOUR-NAME (manual: phone), or in the same house, without https:"
        )
        house = "  care-planner serve FOLDER --host 0.0.0.0 and --url http://THIS-MACHINE:8437"
        return [*wrapped(reach, "  "), house]
    if url.startswith("http:"):
        return wrapped(
            "Without https: pages and notes work, for whoever is in the same network. They are not kept on"
            " the phone while it is away, and many phones refuse the calendar. Whoever listens on the network"
            " sees the link.",
            "  ",
        )
    return []


def terminal_code(address: str) -> list[str]:
    """A QR code (ISO/IEC 18004) of an address, as lines for a terminal."""
    out = io.StringIO()
    segno.make_qr(address, error="l").terminal(out=out, border=2, compact=True)
    return out.getvalue().splitlines()
