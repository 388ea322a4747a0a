"""Names of feeds, as they stand in addresses and folders."""

ALL_FEED = "all.ics"
WORKS_FEED = "works.ics"
WALKS_FEED = "walks.ics"
SERVED_FOLDER = "served"
SHARES_FILE = ".shares.json"
FEED_FOLDERS = ("trees", "benches", "taxa", "work")


def tree_feed(tree: str) -> str:
    """The feed of one tree, with all detail."""
    return f"trees/{tree}.ics"


def bench_feed(bench: str) -> str:
    """The rounds on one bench."""
    return f"benches/{bench}.ics"


def taxon_feed(taxon: str) -> str:
    """The rounds of one taxon's trees."""
    return f"taxa/{taxon}.ics"


def work_feed(kind: str) -> str:
    """The rounds of one kind of work."""
    return f"work/{kind}.ics"
