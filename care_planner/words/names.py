"""What trees and benches are called, each name said once."""


def own_name(id: str, name: str | None) -> str:
    """The name that a grower gave a tree; empty where it says the same as its id (`Maple big`, maple-big)."""
    return name if name is not None and not says_the_same(id, name) else ""


def says_the_same(one: str, other: str) -> bool:
    """Whether two names differ in capitals, blanks and signs only."""
    return _letters(one) == _letters(other)


def bench_words(bench: str, begins: bool = False) -> str:
    """`bench terrace`, `north bench`; with a capital where a line begins with it."""
    words = bench if "bench" in bench.casefold() else f"bench {bench}"
    return f"{words[0].upper()}{words[1:]}" if begins else words


def bench_head(bench: str) -> str:
    """A bench as a heading."""
    return bench_words(bench, begins=True)


def _letters(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
