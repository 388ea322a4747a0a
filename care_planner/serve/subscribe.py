"""The calendar page: addresses to subscribe to, and a code that a phone's camera reads."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote

import segno

from care_planner.collection.model import Collection
from care_planner.serve.names import (
    ALL_FEED,
    WALKS_FEED,
    WORKS_FEED,
    bench_feed,
    taxon_feed,
    tree_feed,
    work_feed,
)
from care_planner.serve.scope import KINDS_OF_WORK, Scope

# Names by RFC 1035: labels of at most 63, in all 253.
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_HOST = re.compile(rf"(?:(?=.{{1,259}}\Z){_LABEL}(?:\.{_LABEL})*|\[[0-9A-Fa-f:.]{{2,45}}\])(?::\d{{1,5}})?")


@dataclass(frozen=True, slots=True)
class Subscription:
    """A feed by what it holds, with its address as a page and as a calendar app takes it."""

    title: str
    address: str
    webcal: str


@dataclass(frozen=True, slots=True)
class SubscriptionGroup:
    """Feeds of one kind."""

    title: str
    feeds: tuple[Subscription, ...]


def is_host(text: str) -> bool:
    """Whether a Host header names a host: what else is sent there must not end in an address on a page."""
    return _HOST.fullmatch(text) is not None


def subscription_groups(
    base: str, scope: Scope, collection: Collection, trees: Iterable[str]
) -> list[SubscriptionGroup]:
    """The feeds a link shows, its main one first. `base` is the address of its feeds, ending in a slash."""

    def feed(title: str, name: str) -> Subscription:
        address = f"{base}{quote(name)}"
        return Subscription(title, address, re.sub("^https?:", "webcal:", address))

    if scope.kind != "all":
        return [SubscriptionGroup("", (feed(f"The calendar of {scope.words()}", scope.feed()),))]
    taxa = sorted({tree.taxon for tree in collection.trees})
    groups = [
        (
            "",
            [
                feed("Works, bench walks and watches", ALL_FEED),
                feed("Works alone", WORKS_FEED),
                feed("Bench walks alone", WALKS_FEED),
            ],
        ),
        ("One bench", [feed(bench, bench_feed(bench)) for bench in sorted(collection.benches)]),
        ("One kind of tree", [feed(taxon, taxon_feed(taxon)) for taxon in taxa]),
        ("One kind of work", [feed(kind, work_feed(kind)) for kind in KINDS_OF_WORK]),
        ("One tree, with all the detail", [feed(tree, tree_feed(tree)) for tree in sorted(trees)]),
    ]
    return [SubscriptionGroup(title, tuple(feeds)) for title, feeds in groups]


def qr_svg(address: str) -> str:
    """A QR code (ISO/IEC 18004) of an address, as SVG to stand in a page; dark on white in any mode."""
    code = segno.make_qr(address, error="m")
    svg: str = code.svg_inline(scale=4, border=4, light="#fff", svgclass="qr", lineclass=None, omitsize=True)
    return svg
