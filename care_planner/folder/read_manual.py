"""The manual that comes with the program."""

from importlib.resources import files

# In the order in which a newcomer needs them.
PAGES = (
    "collection",
    "journal",
    "reading",
    "weather",
    "phone",
    "paper",
    "colours",
    "rules",
    "living",
    "figures",
)


def read_manual(page: str) -> str:
    """The text of a page; KeyError where there is none of that name."""
    if page not in PAGES:
        raise KeyError(page)
    return (files("care_planner") / "manual" / f"{page}.md").read_text(encoding="utf-8")


def read_contents() -> list[tuple[str, str]]:
    """The pages in order, each with its heading."""
    return [(page, read_manual(page).splitlines()[0].removeprefix("# ")) for page in PAGES]
