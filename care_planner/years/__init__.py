"""One tree's years resolved: the state, the order, the choice of a day."""
