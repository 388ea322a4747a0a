"""A folder's inputs -> the trees of its show, each with its chance and its levers."""

from care_planner.folder.read_folder import Inputs
from care_planner.outlook.shows.bloom import ShowBloom, bloom_for_show
from care_planner.years.basis import Basis
from care_planner.years.profiles import noted_trees, twins

Blooms = tuple[ShowBloom, ...]


def blooms_now(inputs: Inputs, today: int) -> Blooms:
    """Every tree of the show as of a day (ordinal), in the order of the names; none without a show."""
    show = inputs.collection.show
    if show is None:
        return ()
    basis = Basis(inputs.collection, inputs.record, inputs.rulebook, today, inputs.outlook)
    shared = basis.with_empty_board()
    noted = noted_trees(inputs.collection, inputs.entries, shared)
    found = []
    for profile, names in twins(noted, today, learnt=basis.learn(noted)):
        for name in names:
            if name in show.trees:
                day = show.date.toordinal()
                found.append(bloom_for_show(name, profile, shared, basis.weather_years, inputs.rulebook, day))
    return tuple(sorted(found, key=lambda bloom: bloom.tree))
