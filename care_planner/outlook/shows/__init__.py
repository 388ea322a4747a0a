"""A show on a day: the chance that a tree is in the bloom that is wanted, and what could move it."""
