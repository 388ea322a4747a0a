"""Generators, and the examples that stand in packs."""
