"""Names inside a calendar folder."""

ALL_NAME = "all.ics"
WORKS_NAME = "works.ics"
WALKS_NAME = "walks.ics"
TREES_FOLDER = "trees"
PLAN_NAME = "plan.json"
STATE_NAME = ".published.json"
BROKEN_STATE_NAME = ".published.broken.json"
LOCK_NAME = ".lock"


def tree_feed_name(tree: str) -> str:
    """The file name of a tree's own feed, relative to the calendar folder."""
    return f"{TREES_FOLDER}/{tree}.ics"
