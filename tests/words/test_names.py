"""A name is said once."""

import pytest

from care_planner.words.names import bench_head, bench_words, own_name


@pytest.mark.parametrize(
    ("id", "name", "shown"),
    [
        ("black-pine-1", "Black pine 1", ""),
        ("camellia", "Camellia", ""),
        ("kozan", None, ""),
        ("sats-02", "Old Kozan", "Old Kozan"),
    ],
)
def test_a_name_that_says_the_same_as_the_id_is_not_shown(id: str, name: str | None, shown: str) -> None:
    assert own_name(id, name) == shown


def test_a_bench_whose_name_says_so_is_no_bench_bench() -> None:
    assert (bench_head("north bench"), bench_head("terrace")) == ("North bench", "Bench terrace")
    assert (bench_words("north bench"), bench_words("terrace")) == ("north bench", "bench terrace")
